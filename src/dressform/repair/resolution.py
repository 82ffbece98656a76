"""The resolution test: whether cloth has enough vertices where the body bends, at every shape tested."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import FaceScalars, Weights
from dressform.body.shapes import Shape, distinct, end_shapes, shape_at_base
from dressform.fit.fit import Fit
from dressform.mesh.curvature import convex_curvature
from dressform.mesh.geometry import face_normals, vertex_normals
from dressform.mesh.nearest import closest, signed_clearance
from dressform.mesh.tree import Tree
from dressform.repair.bisect import radius_squared

MIN_ROOM = 0.001  # metres; corners nearer than the margin lack room, not vertices, and are judged as if they had this
REACH = 0.15  # metres; skin farther from cloth than this is not what it covers
CURVATURE_RINGS = 2  # neighbours of neighbours take part in the curvature at a vertex
SAMPLES = np.array(
    [[1, 0, 0], [0, 1, 0], [0, 0, 1], [0.5, 0.5, 0], [0, 0.5, 0.5], [0.5, 0, 0.5], [1 / 3, 1 / 3, 1 / 3]]
)
"""Points of a triangle whose feet belong to its footprint, however few body vertices lie under it."""


FINEST = 16.0
"""Cloth is split until its triangles are a quarter as wide as those of the skin under it, and no finer: a corner of the
skin can still come through the middle of a cloth triangle of its own size."""


@dataclass(frozen=True)
class Resolution:
    """The resolution index of every triangle, and at which shape it is largest.

    Attributes:
        index: ½ κ ρ² / (least clearance of the corners − margin), the largest over the shapes, (F,); above 1 the body
            bends through the triangle between its corners. 0 where nothing under it bends outward, and where a corner
            lies in the body at the base. No more than `FINEST` times ρ² over that of the skin's own triangles: they are
            flat, so cloth much finer than they are gains nothing.
        shape: Which of the shapes that is, (F,).
        curvature: κ there: largest convex normal curvature of the body in the triangle's footprint, (F,), 1/m.
        radius: ρ there: radius of the smallest circle that holds the triangle, (F,), metres.
        room: Least clearance of the corners there minus the margin, (F,), metres.
        labels: Names of the shapes.
    """

    index: FaceScalars
    shape: Int[np.ndarray, " F"]
    curvature: FaceScalars
    radius: FaceScalars
    room: FaceScalars
    labels: tuple[str, ...]

    @property
    def failing(self) -> Bool[np.ndarray, " F"]:
        """Triangles with an index above 1, (F,)."""
        return self.index > 1.0


def measure_resolution(fit: Fit, *, shapes: Sequence[Shape] | None = None, tree: Tree | None = None) -> Resolution:
    """The resolution index of every triangle over the base body and the shapes given.

    Between corners that keep the clearance c a flat triangle comes nearer to a body of curvature κ by at most ½ κ ρ²:
    linear interpolation is off by no more [Waldron1998]. So vertices suffice while that stays within c − margin.
    Curvature is that of the morphed body, so what the morphs bend is in it. Corners that come nearer than the margin
    themselves need clearance, not vertices; they are judged as if they had been given 1 mm.

    Args:
        fit: The garment and how it follows; its following sets the clearance that must remain.
        shapes: Shapes to test; by default the ends of every morph's interval. The worst shapes of a sweep are
            worth adding.
        tree: The body's triangles, if already built.

    Proof: tests/repair/test_resolution.py::test_the_index_is_the_closed_form_round_a_capsule
    """
    body, box = fit.body, fit.body.range
    looked = distinct([shape_at_base(box), *(end_shapes(box) if shapes is None else shapes)])
    body_tree = Tree(body.vertices, body.faces) if tree is None else tree
    cloth_tree = Tree(fit.base, fit.garment.faces)
    print_of = _Footprints.of(body_tree, cloth_tree)
    finest = print_of.largest(print_of.skin_radius(body_tree), len(fit.garment.faces))
    finest[finest == 0] = np.inf
    own = (signed_clearance(body_tree, fit.base)[0][fit.garment.faces] <= 0).any(axis=1)
    count = len(fit.garment.faces)
    kept = [np.zeros(count) for _ in range(4)]
    worst = np.zeros(count, dtype=np.int64)
    for number, shape in enumerate(looked):
        found = _at(fit, shape.weights, body_tree, print_of)
        np.minimum(found[0], FINEST * found[2] ** 2 / finest, out=found[0])
        found[0][own] = 0.0
        better = (found[0] > kept[0]) | (number == 0)
        worst[better] = number
        for field, new in zip(kept, found):
            field[better] = new[better]
    index, curvature, radius, room = kept
    return Resolution(index, worst, curvature, radius, room, tuple(shape.label for shape in looked))


def _at(
    fit: Fit, weights: Weights, body_tree: Tree, print_of: "_Footprints"
) -> tuple[FaceScalars, FaceScalars, FaceScalars, FaceScalars]:
    """Index, curvature, radius and room of every triangle on one shape."""
    skin, cloth, faces = fit.body.at(weights), fit.at(weights), fit.garment.faces
    clearance, _ = signed_clearance(body_tree.refit(skin), cloth)
    room = clearance[faces].min(axis=1) - fit.following.margin
    curvature = print_of.largest(convex_curvature(skin[print_of.patch], print_of.patch_faces), len(faces))
    squared = radius_squared(cloth[faces])
    return 0.5 * curvature * squared / np.maximum(room, MIN_ROOM), curvature, np.sqrt(squared), room


@dataclass(frozen=True)
class _Footprints:
    """The body vertices under each cloth triangle, as pairs, found once at the base.

    Vertices are numbered in the patch of skin that all footprints need, two rings of neighbours included, so that
    nothing is computed of the rest of the body.
    """

    vertices: Int[np.ndarray, " N"]
    faces: Int[np.ndarray, " N"]
    patch: Int[np.ndarray, " P"]
    patch_faces: Int[np.ndarray, "S 3"]

    @classmethod
    def of(cls, body: Tree, cloth: Tree) -> "_Footprints":
        """Skin whose closest cloth is the triangle and lies over it, and the skin at the feet of points of it."""
        skin = vertex_normals(body.vertices, body.faces)
        found = closest(cloth, body.vertices, within=REACH)
        over = np.flatnonzero(found.faces >= 0)
        away = found.points[over] - body.vertices[over]
        normals = face_normals(cloth.vertices, cloth.faces)[found.faces[over]]
        # Skin beyond a hem sees only its edge, from the side.
        steep = np.abs(np.einsum("nx,nx->n", away, normals)) >= 0.5 * found.distances[over]
        over = over[steep & (np.einsum("nx,nx->n", away, skin[over]) > 0)]
        points = np.einsum("sc,fcx->sfx", SAMPLES, cloth.vertices[cloth.faces]).reshape(-1, 3)
        feet = closest(body, points)
        vertices = np.concatenate([over, body.faces[feet.faces].ravel()])
        inside = np.zeros(len(body.vertices), dtype=bool)
        inside[vertices] = True
        for _ in range(CURVATURE_RINGS):
            inside[body.faces[inside[body.faces].any(axis=1)]] = True
        number = np.cumsum(inside) - 1
        return cls(
            number[vertices],
            np.concatenate([found.faces[over], np.repeat(np.tile(np.arange(len(cloth.faces)), len(SAMPLES)), 3)]),
            np.flatnonzero(inside),
            number[body.faces[inside[body.faces].all(axis=1)]],
        )

    def skin_radius(self, body: Tree) -> Float[np.ndarray, " P"]:
        """ρ² of the skin's triangles at each vertex of the patch, their mean, (P,), m²."""
        squared = radius_squared(body.vertices[self.patch][self.patch_faces])
        sums, counts = np.zeros(len(self.patch)), np.zeros(len(self.patch))
        np.add.at(sums, self.patch_faces.ravel(), np.repeat(squared, 3))
        np.add.at(counts, self.patch_faces.ravel(), 1.0)
        return sums / np.maximum(counts, 1.0)

    def largest(self, field: Float[np.ndarray, " P"], count: int) -> FaceScalars:
        """Largest value of a body field under each triangle, (F,)."""
        values = np.zeros(count)
        np.maximum.at(values, self.faces, field[self.vertices])
        return values
