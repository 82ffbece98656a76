"""On which side of the skin the cloth lies."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Faces, Points, Queries
from dressform.faults.sample_kernels import same_side
from dressform.mesh.geometry import face_normals
from dressform.mesh.inside import Winding
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.nearest import Closest, closest, signed_clearance
from dressform.mesh.tree import Tree

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
