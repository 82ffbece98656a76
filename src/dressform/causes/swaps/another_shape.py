"""Modelled on another shape: the garment carried to the base body from the shape that it was modelled on."""

import numpy as np
from jaxtyping import Float

from dressform.causes.patch import Patch

WORDS = "the garment carried here from the shape that it was modelled on"
MIN_MOVE = 0.001
"""Cloth that this would carry by less is where it belongs, metres."""


def matters(patch: Patch) -> bool:
    """Whether carrying the garment back would move the cloth at the cluster."""
    return bool(np.linalg.norm(moves(patch)[patch.near], axis=1).max(initial=0.0) > MIN_MOVE)


def moves(patch: Patch) -> Float[np.ndarray, "N 3"]:
    """How far each vertex of the patch moves, metres."""
    origin = patch.worn.origin
    return np.zeros_like(patch.fit.base) if origin is None else origin.moves[patch.vertices]
