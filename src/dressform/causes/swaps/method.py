"""The method: the swap lets the patch follow by `smooth` instead of a rougher method of ours.

`smooth` itself is never blamed: the other methods tear and fold so much elsewhere that none of them is a remedy.
"""

from dressform.causes.patch import Patch
from dressform.garment.following import SMOOTH

WORDS = "the cloth following by the method `smooth`"
ENOUGH = 0.5
"""The method is tried where no other swap takes away at least this share of the fault."""


def matters(patch: Patch) -> bool:
    """Whether the cluster is on a shape at all, and follows by another method than `smooth`."""
    return bool(patch.weights.any() and patch.fit.following.method != SMOOTH)
