"""Where the cloth lies under the skin: between its vertices too, and apart from what lay there on the base shape."""

from dataclasses import dataclass, fields

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Faces, Points, Queries
from dressform.faults.sample_kernels import corner_points, piece_areas, same_side
from dressform.mesh.geometry import face_areas, face_normals
from dressform.mesh.inside import Winding
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.nearest import Closest, closest, signed_clearance
from dressform.mesh.tree import Tree

SAMPLE_EDGE = 0.004
"""Pieces into which a crossing triangle is cut have sides of at most this length, metres; on skin that bends with a
radius of 1 cm or more they stay within 0.2 mm of it."""
MOST_PIECES = 24
"""A side is cut into no more pieces than this, however coarse the cloth."""
NEAR_SKIN = 1e-4
"""How far on either side of a triangle of the body its sides are asked for, metres."""


@dataclass(frozen=True)
class Skin:
    """The body as the measure of inside and outside.

    Attributes:
        faces: Triangles, (F, 3).
        trusted: Triangles whose normal tells inside from outside on the base shape, (F,). Elsewhere (an inner mouth,
            eyes, the rim of a hole, parts that overlap) the winding number is asked.
    """

    faces: Faces
    trusted: Bool[np.ndarray, " F"]


def make_skin(vertices: Points, faces: Faces, *, near: Queries) -> Skin:
    """Ask the winding number on both sides of every triangle in the box around the points `near`.

    Triangles outside that box are trusted unasked: no cloth is nearest to them.
    """
    centres = vertices[faces].mean(axis=1)
    normals = face_normals(vertices, faces)
    margin = 0.25 * float(np.ptp(near, axis=0).max())
    asked = np.all((centres > near.min(axis=0) - margin) & (centres < near.max(axis=0) + margin), axis=1)
    winding = Winding(vertices, faces)
    step = NEAR_SKIN * normals[asked]
    trusted = np.ones(len(faces), dtype=bool)
    trusted[asked] = winding.inside(centres[asked] - step) & ~winding.inside(centres[asked] + step)
    return Skin(np.asarray(faces, dtype=np.int64), trusted)


def clearance(
    tree: Tree, trusted: Bool[np.ndarray, " F"], points: Queries, start: Int[np.ndarray, " Q"]
) -> tuple[Float[np.ndarray, " Q"], Closest]:
    """Signed distance to the body, inside told by the winding number where the nearest triangle is not trusted."""
    signed, found = signed_clearance(tree, points, start_faces=start)
    asked = np.flatnonzero(~trusted[found.faces])
    if asked.size:
        inside = Winding(tree.vertices, tree.faces).inside(points[asked])
        signed[asked] = np.where(inside, -found.distances[asked], found.distances[asked])
    return signed, found


@dataclass(frozen=True)
class ClothSides:
    """On which side of the skin a garment lies on one shape.

    Attributes:
        signed: Clearance of each cloth vertex, negative inside, metres, (G,).
        nearest: Body triangle nearest to each cloth vertex, (G,).
        barycentric: Where in that triangle, (G, 3).
        pairs: Triangles (cloth, body) that cross, (P, 2).
        crossed: Cloth triangles that cross the body, (F,).
    """

    signed: Float[np.ndarray, " G"]
    nearest: Int[np.ndarray, " G"]
    barycentric: Float[np.ndarray, "G 3"]
    pairs: Int[np.ndarray, "P 2"]
    crossed: Bool[np.ndarray, " F"]


def cloth_sides(
    cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"], *, start: Int[np.ndarray, " G"]
) -> ClothSides:
    """Clearance of the cloth's vertices, and its triangles that cross the body.

    Vertices that are joined by triangles which do not cross the body lie on one side of it; the one farthest from the
    skin among those nearest to a trusted triangle decides for all of them.
    """
    pairs = crossing_pairs(cloth, body)
    crossed = np.zeros(len(cloth.faces), dtype=bool)
    crossed[pairs[:, 0]] = True
    found = closest(body, cloth.vertices, start_faces=start)
    group = same_side(cloth.faces, crossed, len(cloth.vertices))
    # The last of a rising order wins: within a group, a trusted vertex over others, then the farthest.
    confidence = found.distances + np.where(trusted[found.faces], 1.0 + found.distances.max(initial=0.0), 0.0)
    judge = np.zeros(int(group.max(initial=-1)) + 1, dtype=np.int64)
    order = np.argsort(confidence, kind="stable")
    judge[group[order]] = order
    outside, _ = clearance(body, trusted, cloth.vertices[judge], found.faces[judge])
    return ClothSides(
        np.where(outside[group] < 0, -found.distances, found.distances), found.faces, found.barycentric, pairs, crossed
    )


@dataclass(frozen=True)
class ClothSamples:
    """Cloth that lies inside the body and did not on the base shape: samples of it, and its triangles.

    Attributes:
        areas: Area that each sample stands for, m², (N,).
        depths: Distance to the skin, metres, (N,).
        vertices: Cloth vertex nearest to each sample within its triangle, (N,).
        nearest: Body triangle nearest to each sample, (N,).
        patches: Corners of the triangles or pieces of triangles that lie inside, in part or as a whole, (T, 3, 3).
        patch_vertices: A cloth vertex next to each patch, (T,).
    """

    areas: Float[np.ndarray, " N"]
    depths: Float[np.ndarray, " N"]
    vertices: Int[np.ndarray, " N"]
    nearest: Int[np.ndarray, " N"]
    patches: Float[np.ndarray, "T 3 3"]
    patch_vertices: Int[np.ndarray, " T"]

    def without(self, vertices: Bool[np.ndarray, " G"]) -> "ClothSamples":
        """What is left when the surroundings of some cloth vertices are taken out."""
        kept, kept_patches = ~vertices[self.vertices], ~vertices[self.patch_vertices]
        return ClothSamples(
            self.areas[kept],
            self.depths[kept],
            self.vertices[kept],
            self.nearest[kept],
            self.patches[kept_patches],
            self.patch_vertices[kept_patches],
        )


@dataclass(frozen=True)
class OwnInside:
    """What of a garment lies inside the body on the base shape.

    Attributes:
        orders: Pieces along a side of each cloth triangle, should it be cut, (F,).
        inside: Vertices inside, (G,).
        crossed: Triangles that cross the body, rising, (M,).
        signed: Clearance at the corners of their pieces, one triangle after another, (N,).
        share: Area inside over the garment's area.
    """

    orders: Int[np.ndarray, " F"]
    inside: Bool[np.ndarray, " G"]
    crossed: Int[np.ndarray, " M"]
    signed: Float[np.ndarray, " N"]
    share: float


def own_inside(cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"], sides: ClothSides) -> OwnInside:
    """Measure the base shape, so that its own faults can be told from those of a shape."""
    corners = cloth.vertices[cloth.faces]
    longest = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2).max(axis=1)
    orders = np.clip(np.ceil(longest / SAMPLE_EDGE), 1, MOST_PIECES).astype(np.int64)
    crossed = np.flatnonzero(sides.crossed)
    points, _, bounds = corner_points(cloth.vertices, cloth.faces, crossed, orders[crossed])
    start = np.repeat(sides.nearest[cloth.faces[crossed, 0]], np.diff(bounds))
    signed, _ = clearance(body, trusted, points, start)
    areas = face_areas(cloth.vertices, cloth.faces)
    own, _, _ = piece_areas(areas[crossed], orders[crossed], bounds, signed, signed)
    whole = ~sides.crossed & (sides.signed[cloth.faces] < 0).all(axis=1)
    share = float((own.sum() + areas[whole].sum()) / areas.sum())
    return OwnInside(orders, sides.signed < 0, crossed, signed, share)


def inside_samples(
    cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"], sides: ClothSides, own: OwnInside
) -> ClothSamples:
    """Samples of the cloth that is inside the body and was not on the base shape.

    A triangle that does not cross the body lies on one side of it as a whole. One that does, or did on the base shape,
    is cut into pieces, at whose corners the clearance is taken exactly and between which it counts as linear. So where
    nothing crosses and no vertex is inside there is no sample at all.
    """
    areas = face_areas(cloth.vertices, cloth.faces)
    cut_faces = np.union1d(np.flatnonzero(sides.crossed), own.crossed)
    whole = (sides.signed[cloth.faces] < 0).all(axis=1) & ~own.inside[cloth.faces].any(axis=1)
    whole[cut_faces] = False
    faces = np.flatnonzero(whole)
    vertices = cloth.faces[faces].ravel()
    uncut = ClothSamples(
        np.repeat(areas[faces] / 3.0, 3),
        -sides.signed[vertices],
        vertices,
        sides.nearest[vertices],
        cloth.vertices[cloth.faces[faces]],
        cloth.faces[faces, 0],
    )
    if not cut_faces.size:
        return uncut
    cut = _cut_samples(cloth, body, trusted, sides, own, cut_faces, areas[cut_faces])
    names = [field.name for field in fields(ClothSamples)]
    return ClothSamples(*(np.concatenate([getattr(uncut, name), getattr(cut, name)]) for name in names))


def _cut_samples(
    cloth: Tree,
    body: Tree,
    trusted: Bool[np.ndarray, " F"],
    sides: ClothSides,
    own: OwnInside,
    chosen: Int[np.ndarray, " M"],
    areas: Float[np.ndarray, " M"],
) -> ClothSamples:
    """Corners of the pieces of the chosen triangles that newly lie inside, and these pieces."""
    orders = own.orders[chosen]
    points, barycentric, bounds = corner_points(cloth.vertices, cloth.faces, chosen, orders)
    counts = np.diff(bounds)
    faces = np.repeat(chosen, counts)
    vertices = cloth.faces[faces, np.argmax(barycentric, axis=1)]
    signed, found = clearance(body, trusted, points, sides.nearest[vertices])
    before = np.where(own.inside[cloth.faces[faces, 0]], -1.0, 1.0)
    before[np.repeat(np.isin(chosen, own.crossed), counts)] = own.signed
    _, at_corners, pieces = piece_areas(areas, orders, bounds, signed, before)
    kept = at_corners > 0
    return ClothSamples(
        at_corners[kept], -signed[kept], vertices[kept], found.faces[kept], points[pieces], vertices[pieces[:, 0]]
    )
