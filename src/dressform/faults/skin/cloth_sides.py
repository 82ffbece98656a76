"""On which side of the skin the cloth lies."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Queries
from dressform.faults.kernels.sample import same_side
from dressform.mesh.crossing_number import crossing_numbers, is_closed
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.inside import INSIDE, Winding
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.nearest import Closest, closest, signed_clearance
from dressform.mesh.rays import first_hit
from dressform.mesh.topology import boundary_edges
from dressform.mesh.tree import Tree

FEW = 8000
"""Up to so many points rays are faster than preparing the sum over all triangles."""
OFF_SKIN = 1e-4
"""Rays start this far off the skin, metres, so that they don't meet the triangle they leave."""


def trust_skin(body: Tree) -> Bool[np.ndarray, " F"]:
    """Triangles of the body whose normal tells inside from outside, (F,); elsewhere the winding number decides.

    Rays both ways along the normal of each corner must agree with a closed surface: outward, the first triangle met, if
    any, is met in front; inward, there is one and it is met from behind. This excludes shells inside the body, shells
    turned inside out, parts that overlap, and skin over a hole. Triangles at an open edge are not trusted either.
    """
    normals = vertex_normals(body.vertices, body.faces)
    asked = np.flatnonzero(np.abs(normals).sum(axis=1) > 0)
    told = np.zeros(len(normals), dtype=bool)
    told[asked] = True
    for sign in (1.0, -1.0):
        directions = sign * normals[asked]
        hits = first_hit(body, body.vertices[asked], directions, near=OFF_SKIN)
        behind = np.einsum("ni,ni->n", body.slots[body.slot_of[hits.faces], 9:], directions) > 0
        told[asked] &= (~hits.blocked | ~behind) if sign > 0 else (hits.blocked & behind)
    told[boundary_edges(body.faces).ravel()] = False
    return told[body.faces].all(axis=1)


def clearance(
    tree: Tree, trusted: Bool[np.ndarray, " F"], points: Queries, start: Int[np.ndarray, " Q"]
) -> tuple[Float[np.ndarray, " Q"], Closest]:
    """Signed distance to the body; the winding number gives the sign where the nearest triangle is not trusted."""
    signed, found = signed_clearance(tree, points, start_faces=start)
    asked = np.flatnonzero(~trusted[found.faces])
    if asked.size:
        inside = winds_around(tree, points[asked])
        signed[asked] = np.where(inside, -found.distances[asked], found.distances[asked])
    return signed, found


def winds_around(tree: Tree, points: Queries) -> Bool[np.ndarray, " Q"]:
    """Whether the body winds around each point at least half a time, (Q,): along rays where it is closed."""
    if len(points) <= FEW and is_closed(tree):
        return crossing_numbers(tree, points) >= INSIDE
    return Winding(tree.vertices, tree.faces).inside(points)


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
