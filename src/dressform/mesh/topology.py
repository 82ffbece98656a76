"""How the triangles of a mesh are connected: edges, borders, connected pieces, welded vertices and irregularities."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from dressform.arrays import Faces, Points
from dressform.errors import ArgumentError
from dressform.mesh.flat import flat_mesh, flat_points
from dressform.mesh.geometry import face_areas, face_normals
from dressform.mesh.sides import Sides

FLIPPED_SHARE = 1e-3  # of area^1.5, below which a volume counts as none; a sphere has 0.094


def edges(faces: Faces) -> Int[np.ndarray, "E 2"]:
    """Unique undirected edges, lower index first, in rising order, (E, 2)."""
    return Sides(faces, _count(faces)).edges


def boundary_edges(faces: Faces) -> Int[np.ndarray, "E 2"]:
    """Edges with one triangle, (E, 2), each in the direction in which its triangle runs along it."""
    sides = Sides(faces, _count(faces))
    rows, corners = np.nonzero(sides.uses[sides.of_faces] == 1)
    return np.stack([sides.faces[rows, corners], sides.faces[rows, (corners + 1) % 3]], axis=1)


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


@dataclass(frozen=True)
class Weld:
    """Vertices of a file, merged where they coincide.

    Attributes:
        vertices: The welded vertices, (V, 3). Each has the unchanged position of the first of its group in the file.
        file_to_welded: The welded vertex of each vertex of the file, (N,).
    """

    vertices: Points
    file_to_welded: Int[np.ndarray, " N"]


def weld(vertices: Float[np.ndarray, "N 3"], *, tolerance: float) -> Weld:
    """Merge vertices that lie within `tolerance` of each other, metres; 0 joins equal positions only.

    Groups are numbered in the order of the file. A chain of vertices, each within the tolerance of the next, becomes
    one vertex: keep the tolerance well below the shortest edge.

    Raises:
        ArgumentError: a coordinate is not finite, or the tolerance is negative.
    """
    flat = flat_points("weld", "vertices", vertices)
    if not tolerance >= 0:
        raise ArgumentError.of("weld", "tolerance", "at least 0 m", f"{tolerance:g}", "Give a length")
    labels: Int[np.ndarray, " N"]
    _, first, labels = np.unique(flat + 0.0, axis=0, return_index=True, return_inverse=True)  # + 0.0: -0 equals 0
    if tolerance > 0 and len(first) > 1:
        pairs = cKDTree(flat[first]).query_pairs(tolerance, output_type="ndarray")
        joined = csr_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(first), len(first)))
        labels = connected_components(joined, directed=False)[1][labels]
    groups = _by_first(labels)
    _, leaders = np.unique(groups, return_index=True)
    return Weld(flat[leaders], groups)


@dataclass(frozen=True)
class MeshAudit:
    """The irregularities of a mesh. None of them is an error: real bodies and garments have them all.

    Attributes:
        shells: Number of connected pieces that have triangles.
        face_shells: Piece of each triangle, (F,), numbered by the lowest triangle.
        volumes: Volume that each piece encloses, (S,), m³, each opening closed by a fan to the mean of its corners.
        open_edges: Edges with one triangle.
        branching_edges: Edges with three or more triangles.
        turned_edges: Edges whose two triangles run along them in the same direction, so that one is turned over.
        duplicate_faces: Triangles whose three corners an earlier triangle has too, in any order.
        degenerate_faces: Triangles without a usable normal.
        unused_vertices: Vertices that no triangle uses.
        flipped_shells: Pieces that enclose a negative volume: inside out, or the wall of a cavity.
    """

    shells: int
    face_shells: Int[np.ndarray, " F"]
    volumes: Float[np.ndarray, " S"]
    open_edges: int
    branching_edges: int
    turned_edges: int
    duplicate_faces: int
    degenerate_faces: int
    unused_vertices: int
    flipped_shells: tuple[int, ...]

    def notes(self) -> tuple[str, ...]:
        """One sentence for each thing found; none for a single closed, well-turned surface."""
        counts = np.bincount(self.face_shells, minlength=self.shells)
        flipped = sum(int(counts[shell]) for shell in self.flipped_shells)
        found = (
            (self.shells > 1, f"The mesh has {self.shells} separate pieces, of {_listed(counts)}."),
            (self.open_edges, f"It is open along {self.open_edges} {_plural(self.open_edges, 'edge')}."),
            (
                self.branching_edges,
                f"Three or more triangles meet at {self.branching_edges} {_plural(self.branching_edges, 'edge')}.",
            ),
            (
                self.turned_edges,
                f"Neighbouring triangles face opposite ways across {self.turned_edges} "
                f"{_plural(self.turned_edges, 'edge')}.",
            ),
            (
                self.flipped_shells,
                f"{len(self.flipped_shells)} of the pieces ({flipped} triangles) "
                f"{'are' if len(self.flipped_shells) > 1 else 'is'} inside out, or the wall of a cavity.",
            ),
            (self.duplicate_faces, f"It repeats {self.duplicate_faces} {_plural(self.duplicate_faces, 'triangle')}."),
            (
                self.degenerate_faces,
                f"It has {self.degenerate_faces} {_plural(self.degenerate_faces, 'triangle')} without area.",
            ),
            (
                self.unused_vertices,
                f"It has {self.unused_vertices} {_plural(self.unused_vertices, 'vertex')} that no triangle uses.",
            ),
        )
        return tuple(sentence for condition, sentence in found if condition)


def audit(vertices: Points, faces: Faces) -> MeshAudit:
    """Count the irregularities of a welded mesh.

    Raises:
        ArgumentError: a coordinate is not finite, or an index lies outside the vertices.
    """
    flat, triangles = flat_mesh("audit", vertices, faces)
    sides = Sides(triangles, len(flat))
    shells = face_components(triangles, len(flat))
    border = boundary_edges(triangles)
    volumes = _volumes(flat, triangles, shells, border)
    areas = np.bincount(shells, weights=face_areas(flat, triangles), minlength=len(volumes))
    repeated = len(triangles) - len(np.unique(np.sort(triangles, axis=1), axis=0))
    return MeshAudit(
        shells=len(volumes),
        face_shells=shells,
        volumes=volumes,
        open_edges=len(border),
        branching_edges=int((sides.uses > 2).sum()),
        turned_edges=int(((sides.uses == 2) & (sides.balance != 0)).sum()),
        duplicate_faces=repeated,
        degenerate_faces=int((~face_normals(flat, triangles).any(axis=1)).sum()),
        unused_vertices=len(flat) - len(np.unique(triangles)),
        flipped_shells=tuple(np.flatnonzero(volumes < -FLIPPED_SHARE * areas**1.5).tolist()),
    )


def _volumes(
    vertices: Points, faces: Faces, shells: Int[np.ndarray, " F"], border: Int[np.ndarray, "E 2"]
) -> Float[np.ndarray, " S"]:
    """Volume inside each shell once every opening is closed by a fan of triangles to the mean of its corners."""
    count = int(shells.max(initial=-1)) + 1
    joined = csr_array((np.ones(len(border)), (border[:, 0], border[:, 1])), shape=(len(vertices), len(vertices)))
    openings = connected_components(joined, directed=False)[1][border[:, 0]]
    _, openings = np.unique(openings, return_inverse=True)
    tips = np.zeros((int(openings.max(initial=-1)) + 1, 3))
    np.add.at(tips, openings, vertices[border[:, 0]])
    tips /= np.bincount(openings, minlength=len(tips))[:, None]
    shell_of = np.zeros(len(vertices), dtype=np.int64)
    shell_of[faces] = shells[:, None]
    corners = np.concatenate([vertices[faces], np.stack([*vertices[border.T][::-1], tips[openings]], axis=1)])
    owners = np.concatenate([shells, shell_of[border[:, 0]]])
    origins = vertices[faces[np.unique(shells, return_index=True)[1], 0]]  # near each shell, against cancellation
    a, b, c = np.moveaxis(corners - origins[owners][:, None], 1, 0)
    return np.bincount(owners, weights=np.einsum("fi,fi->f", a, np.cross(b, c)) / 6.0, minlength=count)


def _listed(counts: Int[np.ndarray, " S"], *, most: int = 5) -> str:
    """The largest counts as words."""
    ranked = sorted(counts.tolist(), reverse=True)
    more = len(ranked) - most
    rest = f" and {'a smaller one' if more == 1 else f'{more} smaller ones'}" if more > 0 else ""
    return ", ".join(str(count) for count in ranked[:most]) + " triangles" + rest


def _plural(count: int, word: str) -> str:
    return word if count == 1 else {"vertex": "vertices"}.get(word, word + "s")


def _count(faces: Faces) -> int:
    """Number of vertices that the triangles need."""
    return int(faces.max(initial=-1)) + 1


def _by_first(labels: Int[np.ndarray, " N"]) -> Int[np.ndarray, " N"]:
    """The labels renumbered in the order in which they first occur."""
    _, first, inverse = np.unique(labels, return_index=True, return_inverse=True)
    return np.argsort(np.argsort(first))[inverse].astype(np.int64)
