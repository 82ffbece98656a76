"""Moves of some cloth that fade out along the cloth around it."""

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

FALLOFF = 0.05
"""The cloth around what is moved gives way over this, metres along the cloth."""


def faded_moves(
    paths: csr_array, moves: Float[np.ndarray, "G 3"], held: Bool[np.ndarray, " G"]
) -> Float[np.ndarray, "G 3"]:
    """The moves of the held vertices; those around them go the way of the nearest by less, the farther away the less.

    Args:
        paths: Path lengths along the cloth between its vertices, metres.
        moves: How far each held vertex moves, metres.
        held: Which vertices these are; at least one.
    """
    away, _, leader = dijkstra(
        paths, directed=False, indices=np.flatnonzero(held), min_only=True, limit=FALLOFF, return_predecessors=True
    )
    share = np.clip(1.0 - away / FALLOFF, 0.0, 1.0)
    share = np.where(np.isfinite(away), share * share * (3.0 - 2.0 * share), 0.0)
    return np.asarray(share[:, None] * moves[np.maximum(leader, 0)])
