"""The edges of a mesh, and which of them bound each triangle."""

from functools import cached_property

import numpy as np
from jaxtyping import Int

from dressform.arrays import Faces
from dressform.mesh.flat import flat_faces


class Sides:
    """The unique edges of a mesh and which of them bound each triangle; each computed on first use.

    Attributes:
        faces: The triangles, (F, 3).
        count: Number of vertices.
    """

    def __init__(self, faces: Faces, count: int) -> None:
        self.faces = flat_faces("Sides", faces, count)
        self.count = count

    @cached_property
    def _unique(self) -> tuple[Int[np.ndarray, " E"], Int[np.ndarray, " S"], Int[np.ndarray, " E"]]:
        """Keys low · count + high of the unique edges in rising order, the edge of each side, and how often."""
        tails, heads = np.ravel(self.faces), np.ravel(np.roll(self.faces, -1, axis=1))
        keys = np.minimum(tails, heads) * self.count + np.maximum(tails, heads)
        unique, inverse, counts = np.unique(keys, return_inverse=True, return_counts=True)
        return unique, inverse, counts

    @cached_property
    def edges(self) -> Int[np.ndarray, "E 2"]:
        """Unique undirected edges, lower index first, in rising order, (E, 2)."""
        keys = self._unique[0]
        return np.stack([keys // self.count, keys % self.count], axis=1)

    @property
    def of_faces(self) -> Int[np.ndarray, "F 3"]:
        """Edge from corner k to corner k + 1 of each triangle, (F, 3)."""
        return self._unique[1].reshape(-1, 3)

    @cached_property
    def balance(self) -> Int[np.ndarray, " E"]:
        """How often triangles run along each edge upward minus downward: 0 where two neighbours agree, (E,)."""
        upward = np.where(self.faces < np.roll(self.faces, -1, axis=1), 1, -1)
        return np.bincount(self.of_faces.ravel(), weights=upward.ravel(), minlength=len(self.edges)).astype(np.int64)

    @property
    def uses(self) -> Int[np.ndarray, " E"]:
        """How many triangle sides lie on each edge: 1 at a border, 2 inside, more where a mesh branches, (E,)."""
        return self._unique[2]
