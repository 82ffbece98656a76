"""Where the cloth lies under the skin, between its vertices too, excluding what lay there at the base."""

from dataclasses import dataclass, fields

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.kernels.sample import piece_areas
from dressform.faults.skin.cloth_cells import SAMPLE_EDGE, cut_cells
from dressform.faults.skin.cloth_sides import ClothSides, clearance
from dressform.mesh.geometry import face_areas
from dressform.mesh.tree import Tree

FINE_PIECES = 6
"""A triangle whose sides need no more pieces than this, and that lies inside as a whole, is sampled at its corners."""


@dataclass(frozen=True)
class ClothSamples:
    """Cloth that lies inside the body and did not at the base: samples of it, and its triangles.

    Attributes:
        areas: Area that each sample stands for, m², (N,).
        depths: Distance to the skin, metres, (N,).
        vertices: Cloth vertex nearest to each sample within its triangle, (N,).
        nearest: Body triangle nearest to each sample, (N,).
        patches: Corners of the triangles or pieces of triangles that lie inside, in part or as a whole, (T, 3, 3).
        faces: Cloth triangle of each sample, (N,).
        patch_faces: Cloth triangle of each patch, (T,).
    """

    areas: Float[np.ndarray, " N"]
    depths: Float[np.ndarray, " N"]
    vertices: Int[np.ndarray, " N"]
    nearest: Int[np.ndarray, " N"]
    patches: Float[np.ndarray, "T 3 3"]
    faces: Int[np.ndarray, " N"]
    patch_faces: Int[np.ndarray, " T"]

    def without(self, faces: Bool[np.ndarray, " C"]) -> "ClothSamples":
        """The samples without those of some cloth triangles."""
        kept, kept_patches = ~faces[self.faces], ~faces[self.patch_faces]
        return ClothSamples(
            self.areas[kept],
            self.depths[kept],
            self.vertices[kept],
            self.nearest[kept],
            self.patches[kept_patches],
            self.faces[kept],
            self.patch_faces[kept_patches],
        )


@dataclass(frozen=True)
class OwnInside:
    """The part of a garment that lies inside the body at the base.

    Attributes:
        cloth: The garment there.
        body: The base body.
        trusted: Body triangles whose normal tells inside from outside there, (F,).
        sides: On which side the cloth lies; its nearest triangles are the feet.
        orders: Pieces along a side of each cloth triangle if it is cut, (C,).
        share: Area inside over the garment's area.
    """

    cloth: Tree
    body: Tree
    trusted: Bool[np.ndarray, " F"]
    sides: ClothSides
    orders: Int[np.ndarray, " C"]
    share: float


def own_inside(cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"], sides: ClothSides) -> OwnInside:
    """Measure the base, so that faults that exist there are not counted on other shapes."""
    corners = cloth.vertices[cloth.faces]
    longest = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2).max(axis=1)
    orders = np.maximum(np.ceil(longest / SAMPLE_EDGE), 1).astype(np.int64)
    cells = cut_cells(cloth, body, sides, np.flatnonzero(sides.crossed), orders)
    signed, _ = clearance(body, trusted, cells.points(cloth), sides.nearest[cells.vertices])
    own, _, _ = piece_areas(cells.areas(cloth), cells.orders, cells.bounds, signed, signed)
    areas = face_areas(cloth.vertices, cloth.faces)
    whole = ~sides.crossed & (sides.signed[cloth.faces] < 0).all(axis=1)
    share = float((own.sum() + areas[whole].sum()) / areas.sum())
    return OwnInside(cloth, body, trusted, sides, orders, share)


def inside_samples(
    cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"], sides: ClothSides, own: OwnInside
) -> ClothSamples:
    """Samples of the cloth that is inside the body and was not at the base.

    A triangle that does not cross the body lies on one side of it as a whole, and where it is small its corners sample
    its depth. One that crosses, or did at the base, or is large, is cut into pieces, at whose corners the
    clearance is taken exactly and between which it counts as linear. So where nothing crosses and no vertex is inside
    there is no sample at all.
    """
    was_inside = (own.sides.signed < 0)[cloth.faces].any(axis=1)
    inside = (sides.signed[cloth.faces] < 0).all(axis=1) & ~was_inside
    cut = sides.crossed | own.sides.crossed | (inside & (own.orders > FINE_PIECES))
    faces = np.flatnonzero(inside & ~cut)
    vertices = cloth.faces[faces].ravel()
    uncut = ClothSamples(
        np.repeat(face_areas(cloth.vertices, cloth.faces[faces]) / 3.0, 3),
        -sides.signed[vertices],
        vertices,
        sides.nearest[vertices],
        cloth.vertices[cloth.faces[faces]],
        np.repeat(faces, 3),
        faces,
    )
    if not cut.any():
        return uncut
    pieces = _cut_samples(cloth, body, trusted, sides, own, np.flatnonzero(cut))
    names = [field.name for field in fields(ClothSamples)]
    return ClothSamples(*(np.concatenate([getattr(uncut, name), getattr(pieces, name)]) for name in names))


def _cut_samples(
    cloth: Tree,
    body: Tree,
    trusted: Bool[np.ndarray, " F"],
    sides: ClothSides,
    own: OwnInside,
    chosen: Int[np.ndarray, " M"],
) -> ClothSamples:
    """Corners of the pieces of the chosen triangles that newly lie inside, and these pieces."""
    cells = cut_cells(cloth, body, sides, chosen, own.orders)
    points = cells.points(cloth)
    signed, found = clearance(body, trusted, points, sides.nearest[cells.vertices])
    before = np.where(own.sides.signed[cells.corners[:, 0]] < 0, -1.0, 1.0)
    asked = np.flatnonzero(own.sides.crossed[cells.faces])
    if asked.size:
        earlier = np.einsum("nc,ncx->nx", cells.shares[asked], own.cloth.vertices[cells.corners[asked]])
        before[asked], _ = clearance(own.body, own.trusted, earlier, own.sides.nearest[cells.vertices[asked]])
    _, at_corners, pieces = piece_areas(cells.areas(cloth), cells.orders, cells.bounds, signed, before)
    kept = at_corners > 0
    return ClothSamples(
        at_corners[kept],
        -signed[kept],
        cells.vertices[kept],
        found.faces[kept],
        points[pieces],
        cells.faces[kept],
        cells.faces[pieces[:, 0]],
    )
