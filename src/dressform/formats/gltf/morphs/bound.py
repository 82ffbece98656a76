"""How far an error at the base and in each target can bring a vertex, over all weights of a range.

Along any direction n the farthest is exact: n·base + Σ max(low n·delta, high n·delta). Of directions n_i whose convex
hull keeps a distance d from the origin, every vector x has one with n_i·x ≥ d |x|, so no vertex is farther than the
largest of these by more than 1/d.
"""

from functools import cache

import numpy as np
from jaxtyping import Float
from scipy.spatial import ConvexHull

DIRECTIONS = 96
"""So many directions are looked along, each both ways: the bound is then at most 2.5 % too large."""
FIRST = 400
"""So many of the vertices that a coarse bound finds farthest are bounded first; few others remain."""


def bound_over_range(
    base: Float[np.ndarray, "N 3"], deltas: Float[np.ndarray, "K N 3"], ranges: Float[np.ndarray, "K 2"]
) -> float:
    """The farthest that base + Σ w_k delta_k can bring any vertex, from above, for weights within their ranges.

    Each coordinate is affine in the weights, so its ends over the box are exact, and a vertex is no farther than the
    diagonal of the box of its coordinates. Vertices whose diagonal is longest are then looked at along directions.

    Proof: tests/formats/gltf/test_optimise.py
    """
    low, high = base.copy(), base.copy()
    for delta, (start, end) in zip(deltas, ranges):
        low += np.minimum(start * delta, end * delta)
        high += np.maximum(start * delta, end * delta)
    diagonals = np.linalg.norm(np.maximum(-low, high), axis=1)
    order = np.argsort(-diagonals)
    found = 0.0
    for start in range(0, len(order), FIRST):
        rows = order[start : start + FIRST]
        if diagonals[rows[0]] <= found:
            break
        parts = (reach_along(delta[rows], *ends) for delta, ends in zip(deltas, ranges))
        along = sum(parts, start=reach_along(base[rows], 1.0, 1.0))
        found = max(found, float(np.minimum(diagonals[rows], farthest(along)).max()))
    return found


def reach_along(delta: Float[np.ndarray, "N 3"], low: float, high: float) -> Float[np.ndarray, "D N"]:
    """How far each vertex comes along each direction for weights from `low` to `high`; sums over targets are exact."""
    along = _directions()[0] @ delta.T
    return np.concatenate([np.maximum(low * along, high * along), -np.minimum(low * along, high * along)])


def farthest(along: Float[np.ndarray, "D N"]) -> Float[np.ndarray, " N"]:
    """How far each vertex comes at most in any direction, from how far it comes along those of `reach_along`."""
    return np.asarray(along.max(axis=0) / _directions()[1])


@cache
def _directions() -> tuple[Float[np.ndarray, "D 3"], float]:
    """Unit vectors spread evenly over half a sphere, and the distance d of their hull, both ways, from the origin."""
    numbers = np.arange(DIRECTIONS) + 0.5
    height, angle = numbers / DIRECTIONS, np.pi * (3.0 - np.sqrt(5.0)) * numbers
    level = np.sqrt(1.0 - height**2)
    found = np.stack([level * np.cos(angle), level * np.sin(angle), height], axis=1)
    hull = ConvexHull(np.concatenate([found, -found]))
    return found, float((-hull.equations[:, 3]).min())
