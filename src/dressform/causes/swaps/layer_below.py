"""Layer below: the swap takes off what is worn under the garment.

Whatever comes through a garment is gone without it. So this is tried only where no other swap does as much: then the
fault lies between the two garments, not in the one that is pierced.
"""

from dressform.causes.patch import Patch
from dressform.faults.graded.layers import LAYERS
from dressform.faults.graded.pierced import PIERCED

WORDS = "what is worn under it taken off"
BETWEEN = (PIERCED.key, LAYERS.key)
"""Faults that lie between layers."""


def matters(patch: Patch) -> bool:
    """Whether something is worn under the garment and the fault lies between layers."""
    return bool(patch.worn.under) and patch.cluster.fault in BETWEEN
