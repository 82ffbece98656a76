"""Contact: cloth in the skin across a crease, or where blending folds the skin. It is told, and blamed on no cloth."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.posed.alongside import ALONG, Alongside
from dressform.faults.skin.cloth_inside import ClothSamples

ROUND = float(np.pi)
"""Skin farther from a foot than this times the way through the air is reached by no detour round a limb."""
MOST = 0.5
"""A triangle is in contact where more than this share of what lies inside of it is."""


def foreign_skin(
    alongside: Alongside,
    rest: Float[np.ndarray, "B 3"],
    feet: Int[np.ndarray, " N"],
    nearest: Int[np.ndarray, " N"],
    ways: Float[np.ndarray, " N"],
) -> Bool[np.ndarray, " N"]:
    """Whether the skin nearest to cloth at a stance is another than that it stands on, (N,).

    It is where the way along the skin at rest, from the foot to the nearest skin, is longer than `ALONG` and than π
    times the way through the air at the stance: from the foot to the cloth and on to that skin.

    Args:
        alongside: Which skin is near along the body.
        rest: The base body, (B, 3), metres.
        feet: Body vertex under the foot of each.
        nearest: Body vertex nearest at the stance.
        ways: Way through the air, metres.

    Source: own. Beyond `ALONG` the straight distance stands for the way along the skin, which is no shorter.
    """
    bound = ROUND * ways
    foreign = np.linalg.norm(rest[feet] - rest[nearest], axis=1) > np.maximum(ALONG, bound)
    asked = np.flatnonzero(~foreign & (bound <= ALONG))
    foreign[asked] = ~alongside.near(feet[asked], nearest[asked])
    return foreign


def contact_faces(
    samples: ClothSamples, touches: Bool[np.ndarray, " N"], crowded: Bool[np.ndarray, " C"]
) -> Bool[np.ndarray, " C"]:
    """Triangles of the cloth whose inside is contact, (C,): those without room, and those of which most samples are.

    Args:
        samples: The cloth inside the body.
        touches: Which of the samples are contact.
        crowded: Triangles of the cloth that have no room.
    """
    count = len(crowded)
    whole = np.bincount(samples.faces, weights=samples.areas, minlength=count)
    part = np.bincount(samples.faces, weights=samples.areas * touches, minlength=count)
    return crowded | (part > MOST * whole)
