"""Modelled on another shape: the garment carried to the base shape from the shape that it was modelled on."""

import numpy as np
from jaxtyping import Float

from dressform.causes.case import Case

WORDS = "the garment carried here from the shape that it was modelled on"
LEAST_MOVE = 0.001
"""Cloth that this would carry by less is where it belongs, metres."""


def matters(case: Case) -> bool:
    """Whether the cloth at the cluster belongs somewhere else."""
    return case.wearing.moves is not None and bool(np.linalg.norm(moves(case), axis=1).max(initial=0.0) > LEAST_MOVE)


def moves(case: Case) -> Float[np.ndarray, "N 3"]:
    """How far each vertex of the patch moves, metres."""
    everywhere = case.wearing.moves
    return np.zeros_like(case.fit.base) if everywhere is None else everywhere[case.vertices]
