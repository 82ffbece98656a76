"""Normals of stored vertices and how each morph turns them."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.mesh.geometry import vertex_normals

SOME_DIRECTION = (0.0, 1.0, 0.0)
SAME_NORMAL_DECIMALS = 4


def unit_rows(vectors: Float[np.ndarray, "*rows 3"]) -> Float[np.ndarray, "*rows 3"]:
    """The vectors at length 1; those without a finite length become `SOME_DIRECTION`."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    usable = np.isfinite(length) & (length > 0)
    return np.where(usable, np.divide(vectors, length, out=np.zeros_like(vectors), where=usable), SOME_DIRECTION)


@dataclass(frozen=True)
class Shading:
    """Which corners share a normal: copies of one vertex, unless the file shades them apart (a hard edge).

    Attributes:
        groups: Shading group of each stored vertex, (N,).
        places: Welded vertex of each group, (S,).
        faces: Triangles of groups, (F, 3).
    """

    groups: Int[np.ndarray, " N"]
    places: Int[np.ndarray, " S"]
    faces: Int[np.ndarray, "F 3"]

    @classmethod
    def of(
        cls,
        stored_to_welded: Int[np.ndarray, " N"],
        faces: Int[np.ndarray, "F 3"],
        normals: Float[np.ndarray, "N 3"] | None,
    ) -> "Shading":
        """Group stored vertices by their place and, where the file has normals, by their normal."""
        keys = stored_to_welded[:, None].astype(np.float64)
        if normals is not None:
            keys = np.concatenate([keys, np.round(normals, SAME_NORMAL_DECIMALS) + 0.0], axis=1)
        _, first, groups = np.unique(keys, axis=0, return_index=True, return_inverse=True)
        groups = groups.reshape(-1).astype(np.int64)
        return cls(groups, stored_to_welded[first], groups[faces])

    def normals(self, welded: Float[np.ndarray, "V 3"]) -> Float[np.ndarray, "N 3"]:
        """Angle-weighted unit normal of each stored vertex on the mesh at `welded`, (N, 3)."""
        found = vertex_normals(welded[self.places], self.faces)
        found[np.abs(found).max(axis=1) == 0] = SOME_DIRECTION  # no area around it: any unit vector is as good
        return found[self.groups]
