"""Rotations of triangles, and angles between directions."""

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Points
from dressform.lift.turn_kernels import polar_turns, triangle_turns


def turns_between(made: Points, moved: Points, corners: Int[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3 3"]:
    """Rotation of each triangle: the nearest to its deformation, thickness kept, (N, 3, 3).

    Args:
        made: The mesh before, (V, 3), metres.
        moved: The mesh after.
        corners: Vertices of the triangles asked for.
    """
    turns, known = triangle_turns(np.ascontiguousarray(made), np.ascontiguousarray(moved), corners)
    if not known.all():
        turns[~known] = _turns_of_slivers(made, moved, corners[~known])
    return np.asarray(turns)


def _turns_of_slivers(made: Points, moved: Points, corners: Int[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3 3"]:
    """The same where a triangle has no normal before or after: what is not known stays as it is."""
    frames = []
    for points in (made, moved):
        first, second = (points[corners[:, k]] - points[corners[:, 0]] for k in (1, 2))
        across = np.cross(first, second)
        normal = across / np.maximum(np.linalg.norm(across, axis=1), np.finfo(float).tiny)[:, None]
        frames.append(np.stack([first, second, normal], axis=2))
    return nearest_turns(frames[1] @ np.linalg.pinv(frames[0]))


def nearest_turns(maps: Float[np.ndarray, "N 3 3"]) -> Float[np.ndarray, "N 3 3"]:
    """The rotation nearest to each map, (N, 3, 3).

    Source: Newton's iteration for the polar factor [Higham1986]; singular values where a map is mirrored or nearly
    singular. Proof: tests/lift/test_turns.py
    """
    turns, known = polar_turns(np.ascontiguousarray(maps))
    if not known.all():
        left, _, right = np.linalg.svd(maps[~known])
        signs = np.ones((len(left), 3))
        signs[:, 2] = np.sign(np.linalg.det(left @ right))
        turns[~known] = (left * signs[:, None]) @ right
    return np.asarray(turns)


def angles_between(one: Float[np.ndarray, "N 3"], other: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, " N"]:
    """Angles between unit vectors, radians, (N,)."""
    return np.arctan2(np.linalg.norm(np.cross(one, other), axis=1), np.einsum("nx,nx->n", one, other))
