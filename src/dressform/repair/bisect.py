"""Splitting triangles of cloth where they are too large, without hanging nodes and without opening a seam."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array, eye_array, vstack

from dressform.arrays import ClothPoints, Faces, FaceScalars
from dressform.errors import ArgumentError
from dressform.garment.parts import seam_groups
from dressform.mesh.geometry import face_normals, vertex_normals
from dressform.mesh.sides import Sides

MAX_ROUNDS = 12  # halvings of one triangle; each about halves its area
CREASE = 0.82  # a vertex whose normal has a smaller cosine with one of its triangles lies on a crease: 35 degrees


@dataclass(frozen=True)
class Bisected:
    """A mesh with some triangles split, and how values on the old mesh are carried to it.

    Attributes:
        vertices: The old vertices, unmoved, then the new ones, (W, 3), metres.
        faces: (H, 3), turned as their parents are.
        rows: Interpolation from old to new vertices, rows sum to 1, (W, V): for whatever one vertex has once.
        parents: Old triangle that each new one is a piece of, (H,).
        corners: Barycentric coordinates of each new corner in its parent, (H, 3, 3): for whatever differs from corner
            to corner, such as texture coordinates along a seam.
    """

    vertices: ClothPoints
    faces: Faces
    rows: csr_array
    parents: Int[np.ndarray, " H"]
    corners: Float[np.ndarray, "H 3 3"]

    @property
    def added(self) -> int:
        """Number of new vertices."""
        return self.rows.shape[0] - self.rows.shape[1]

    def per_corner(self, field: Float[np.ndarray, "F 3 C"]) -> Float[np.ndarray, "H 3 C"]:
        """A field given per corner of the old triangles, at the corners of the new ones."""
        return np.einsum("hij,hjc->hic", self.corners, field[self.parents])


def radius_squared(corners: Float[np.ndarray, "F 3 3"]) -> FaceScalars:
    """Squared radius of the smallest circle that holds each triangle, (F,), m².

    Half the longest side where the angle across it is not acute, else the circumscribed circle's abc / 4A.
    """
    sides = np.roll(corners, -1, axis=1) - corners
    squares = np.sort(np.einsum("fcx,fcx->fc", sides, sides), axis=1)
    a, b, c = squares.T
    doubled = np.einsum("fx,fx->f", *(2 * [np.cross(sides[:, 0], sides[:, 1])]))  # (2 A)²
    around = np.divide(a * b * c, 4 * doubled, out=np.full(len(a), np.inf), where=doubled > 0)
    return np.where(a + b <= c, c / 4, np.minimum(around, c))


def bisect(
    vertices: ClothPoints,
    faces: Faces,
    shrink: Float[np.ndarray, " N"],
    *,
    smooth: bool = True,
    max_rounds: int = MAX_ROUNDS,
) -> Bisected:
    """Halve triangles at their longest side until ρ², the squared radius that holds them, has shrunk as requested.

    A triangle is done when ρ² ≤ ρ₀² / shrink. In each round the longest side of every triangle that is not done is
    marked, then the longest side of every triangle with a marked one, until nothing is added; so each edge is split
    for both its triangles or for none, and angles stay bounded [Rivara1984]. Edges of cloth that coincide without
    being joined count as one edge, so a seam is split alike on both sides.

    Args:
        vertices: The cloth, (V, 3), metres.
        faces: Its triangles, (F, 3).
        shrink: By what ρ² of each triangle must shrink, (F,); 1 or less leaves it as it is.
        smooth: Whether new vertices go onto the curve through the edge's ends that is perpendicular to their normals;
            its height over the chord is L²/8R on a cylinder. Else they stay on the chord. Edges that meet a crease
            stay straight.
        max_rounds: Halvings at most.

    Raises:
        ArgumentError: there is not one finite `shrink` per triangle.

    Source: longest-side bisection [Rivara1984]; the midpoint is that of the cubic edge of [Vlachos2001].
    Proof: tests/repair/test_bisect.py
    """
    if len(shrink) != len(faces) or not np.isfinite(shrink).all():
        raise ArgumentError.of(
            "bisect", "shrink", f"{len(faces)} finite numbers", f"{len(shrink)}", "Give one per triangle"
        )
    allowed = radius_squared(vertices[faces]) / np.maximum(shrink, 1.0)
    allowed[shrink <= 1] = np.inf
    mesh = _SplitMesh.whole(vertices, np.asarray(faces, dtype=np.int64))
    for _ in range(max_rounds):
        large = radius_squared(mesh.flat[mesh.faces]) > allowed[mesh.parents] * (1 + 1e-9)
        if not large.any():
            break
        mesh = mesh.split(large, smooth)
    return Bisected(mesh.vertices, mesh.faces, mesh.rows, mesh.parents, mesh.corners)


@dataclass(frozen=True)
class _SplitMesh:
    """The mesh between two rounds.

    `groups` numbers the vertices so that coincident ones share a number; `flat` is where they lie on the old
    triangles, by which sizes are judged, so that the choice of triangles does not depend on where vertices go.
    """

    vertices: Float[np.ndarray, "W 3"]
    flat: Float[np.ndarray, "W 3"]
    normals: Float[np.ndarray, "W 3"]
    creased: Bool[np.ndarray, " W"]
    groups: Int[np.ndarray, " W"]
    faces: Int[np.ndarray, "H 3"]
    rows: csr_array
    parents: Int[np.ndarray, " H"]
    corners: Float[np.ndarray, "H 3 3"]

    @classmethod
    def whole(cls, vertices: ClothPoints, faces: Faces) -> "_SplitMesh":
        """The mesh before the first round."""
        points = np.asarray(vertices, dtype=np.float64)
        normals = vertex_normals(points, faces)
        agree = np.einsum("fcx,fx->fc", normals[faces], face_normals(points, faces))
        creased = np.zeros(len(points), dtype=bool)
        creased[faces[agree < CREASE]] = True
        return cls(
            points,
            points,
            normals,
            creased,
            seam_groups(vertices),
            faces,
            csr_array(eye_array(len(vertices))),
            np.arange(len(faces)),
            np.tile(np.eye(3), (len(faces), 1, 1)),
        )

    def split(self, large: Bool[np.ndarray, " H"], smooth: bool) -> "_SplitMesh":
        """Halve the marked triangles and those that must go with them."""
        shared = Sides(self.groups[self.faces], int(self.groups.max()) + 1)
        marked, longest = self._marked(shared, large)
        own = Sides(self.faces, len(self.vertices))
        shared_of_own = np.zeros(len(own.edges), dtype=np.int64)
        shared_of_own[own.of_faces] = shared.of_faces
        halved = np.flatnonzero(marked[shared_of_own])
        middle = np.full(len(own.edges), -1, dtype=np.int64)
        middle[halved] = len(self.vertices) + np.arange(len(halved))
        ends = own.edges[halved]
        group_of = int(self.groups.max()) + 1 + shared_of_own[halved]
        points, normals = self._midpoints(ends, smooth)
        size = len(halved)
        half = csr_array(
            (np.full(2 * size, 0.5), ends.ravel(), np.arange(0, 2 * size + 1, 2)), shape=(size, len(self.vertices))
        )
        faces, parents, corners = self._pieces(own, middle, longest)
        _, groups = np.unique(np.concatenate([self.groups, group_of]), return_inverse=True)
        return _SplitMesh(
            np.concatenate([self.vertices, points]),
            np.concatenate([self.flat, self.flat[ends].mean(axis=1)]),
            np.concatenate([self.normals, normals]),
            np.concatenate([self.creased, self.creased[ends].any(axis=1)]),
            groups.astype(np.int64),
            faces,
            csr_array(vstack([self.rows, half @ self.rows])),
            parents,
            corners,
        )

    def _marked(
        self, shared: Sides, large: Bool[np.ndarray, " H"]
    ) -> tuple[Bool[np.ndarray, " E"], Int[np.ndarray, " H"]]:
        """Which edges are split, and the corner of each triangle at which its longest side begins."""
        first = np.zeros(int(self.groups.max()) + 1, dtype=np.int64)
        first[self.groups] = np.arange(len(self.groups))
        spans = self.flat[first[shared.edges[:, 0]]] - self.flat[first[shared.edges[:, 1]]]
        rank = np.argsort(np.argsort(np.einsum("ex,ex->e", spans, spans), kind="stable"))
        longest = np.argmax(rank[shared.of_faces], axis=1)
        rows = np.arange(len(longest))
        marked = np.zeros(len(shared.edges), dtype=bool)
        going = large
        while going.any():
            marked[shared.of_faces[rows[going], longest[going]]] = True
            touched = marked[shared.of_faces].any(axis=1)
            going = touched & ~marked[shared.of_faces[rows, longest]]
        return marked, longest

    def _midpoints(
        self, ends: Int[np.ndarray, "N 2"], smooth: bool
    ) -> tuple[Float[np.ndarray, "N 3"], Float[np.ndarray, "N 3"]]:
        """Where the middles of edges go, and their normals; vertices that coincide get one place by one sum."""
        a, b = self.vertices[ends[:, 0]], self.vertices[ends[:, 1]]
        normal_a, normal_b = self.normals[ends[:, 0]], self.normals[ends[:, 1]]
        between = normal_a + normal_b
        lengths = np.linalg.norm(between, axis=1, keepdims=True)
        normals = np.divide(between, lengths, out=np.zeros_like(between), where=lengths > 0)
        middles = 0.5 * (a + b)
        if smooth:
            tilt_a = np.einsum("nx,nx->n", b - a, normal_a)[:, None]
            tilt_b = np.einsum("nx,nx->n", a - b, normal_b)[:, None]
            rise = -(tilt_a * normal_a + tilt_b * normal_b) / 8
            middles = middles + np.where(self.creased[ends].any(axis=1)[:, None], 0.0, rise)
        return middles, normals

    def _pieces(
        self, own: Sides, middle: Int[np.ndarray, " E"], longest: Int[np.ndarray, " H"]
    ) -> tuple[Int[np.ndarray, "N 3"], Int[np.ndarray, " N"], Float[np.ndarray, "N 3 3"]]:
        """The triangles after the split: untouched ones first, then the pieces of each kind."""
        rows = np.arange(len(self.faces))
        turn = (longest[:, None] + np.arange(3)) % 3  # corners a, b, c with ab the longest side
        corner, places = np.take_along_axis(self.faces, turn, axis=1), self.corners[rows[:, None], turn]
        mid = middle[np.take_along_axis(own.of_faces, turn, axis=1)]  # on ab, bc, ca
        half = 0.5 * (places + np.roll(places, -1, axis=1))
        vertex, place = np.concatenate([corner, mid], axis=1), np.concatenate([places, half], axis=1)
        a, b, c, on_ab, on_bc, on_ca = range(6)
        has = mid >= 0
        split = has[:, 0]
        kinds = (
            (split & has[:, 2], (a, on_ab, on_ca)),
            (split & has[:, 2], (on_ca, on_ab, c)),
            (split & ~has[:, 2], (a, on_ab, c)),
            (split & has[:, 1], (on_ab, b, on_bc)),
            (split & has[:, 1], (on_ab, on_bc, c)),
            (split & ~has[:, 1], (on_ab, b, c)),
        )
        chosen = [(np.flatnonzero(which), list(names)) for which, names in kinds]
        still = np.flatnonzero(~split)
        return (
            np.concatenate([self.faces[still], *(vertex[which][:, names] for which, names in chosen)]),
            np.concatenate([self.parents[still], *(self.parents[which] for which, _ in chosen)]),
            np.concatenate([self.corners[still], *(place[which][:, names] for which, names in chosen)]),
        )
