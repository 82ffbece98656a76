"""Rotations of triangles, and angles between directions."""

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Points


def turns_between(made: Points, moved: Points, corners: Int[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3 3"]:
    """Rotation of each triangle: the nearest to its deformation, thickness kept, (N, 3, 3).

    Args:
        made: The mesh before, (V, 3), metres.
        moved: The mesh after.
        corners: Vertices of the triangles asked for.
    """
    frames = []
    for points in (made, moved):
        first, second = (points[corners[:, k]] - points[corners[:, 0]] for k in (1, 2))
        across = np.cross(first, second)
        normal = across / np.maximum(np.linalg.norm(across, axis=1), np.finfo(float).tiny)[:, None]
        frames.append(np.stack([first, second, normal], axis=2))
    return nearest_turns(frames[1] @ np.linalg.pinv(frames[0]))


def nearest_turns(maps: Float[np.ndarray, "N 3 3"]) -> Float[np.ndarray, "N 3 3"]:
    """The rotation nearest to each map, (N, 3, 3)."""
    left, _, right = np.linalg.svd(maps)
    signs = np.ones((len(maps), 3))
    signs[:, 2] = np.sign(np.linalg.det(left @ right))
    return np.asarray((left * signs[:, None]) @ right)


def angles_between(one: Float[np.ndarray, "N 3"], other: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, " N"]:
    """Angles between unit vectors, radians, (N,)."""
    return np.arctan2(np.linalg.norm(np.cross(one, other), axis=1), np.einsum("nx,nx->n", one, other))
