"""How the triangles of a mesh hang together: edges, borders, connected pieces."""

from functools import cached_property

import numpy as np
from jaxtyping import Int
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import Faces
from dressform.mesh.flat import flat_faces


class Sides:
    """The unique edges of a mesh and which of them bound each triangle; each found when first asked for.

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

    @property
    def uses(self) -> Int[np.ndarray, " E"]:
        """How many triangle sides lie on each edge: 1 at a border, 2 inside, more where a mesh branches, (E,)."""
        return self._unique[2]


def edges(faces: Faces) -> Int[np.ndarray, "E 2"]:
    """Unique undirected edges, lower index first, in rising order, (E, 2)."""
    return Sides(faces, _count(faces)).edges


def boundary_edges(faces: Faces) -> Int[np.ndarray, "E 2"]:
    """Edges with one triangle, (E, 2), each in the direction in which its triangle runs along it."""
    sides = Sides(faces, _count(faces))
    rows, corners = np.nonzero(sides.uses[sides.of_faces] == 1)
    return np.stack([sides.faces[rows, corners], sides.faces[rows, (corners + 1) % 3]], axis=1)


def edge_faces(faces: Faces) -> Int[np.ndarray, "E 2"]:
    """The two triangles at each of `edges(faces)`, (E, 2): -1 as second at a border, the first two where more meet."""
    sides = Sides(faces, _count(faces))
    order = np.argsort(sides.of_faces.ravel(), kind="stable")
    starts = np.concatenate([[0], np.cumsum(sides.uses)[:-1]]).astype(np.int64)
    first = order[starts] // 3
    second = np.where(sides.uses > 1, order[np.minimum(starts + 1, len(order) - 1)] // 3, -1)
    return np.stack([first, second], axis=1)


def adjacency(faces: Faces, count: int) -> csr_array:
    """Symmetric matrix with a 1 where an edge joins two vertices, (V, V)."""
    pairs = Sides(faces, count).edges
    pairs = pairs[pairs[:, 0] != pairs[:, 1]]
    rows, columns = np.concatenate([pairs, pairs[:, ::-1]]).T
    return csr_array((np.ones(len(rows)), (rows, columns)), shape=(count, count))


def components(faces: Faces, count: int) -> Int[np.ndarray, " V"]:
    """Connected piece of each vertex, (V,), numbered by the lowest vertex; a vertex without triangles is a piece."""
    _, labels = connected_components(adjacency(faces, count), directed=False)
    return _by_first(labels)


def face_components(faces: Faces, count: int) -> Int[np.ndarray, " F"]:
    """Connected piece of each triangle, (F,), numbered by the lowest triangle; a shared vertex connects."""
    labels = components(faces, count)
    return _by_first(labels[faces[:, 0]])


def _count(faces: Faces) -> int:
    """Number of vertices that the triangles need."""
    return int(faces.max(initial=-1)) + 1


def _by_first(labels: Int[np.ndarray, " N"]) -> Int[np.ndarray, " N"]:
    """The labels renumbered in the order in which they first occur."""
    _, first, inverse = np.unique(labels, return_index=True, return_inverse=True)
    return np.argsort(np.argsort(first))[inverse].astype(np.int64)
