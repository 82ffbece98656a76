"""Which triangles of the cloth are in contact. What contact is, at a place of the skin, `fit/contact.py` defines."""

import numpy as np
from jaxtyping import Bool

from dressform.faults.skin.cloth_inside import ClothSamples

MOST = 0.5
"""A triangle is in contact where more than this share of what lies inside of it is."""


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
