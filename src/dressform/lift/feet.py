"""Feet: the body point that each garment vertex stands on."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Queries
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

LEAST_NORMAL = 1e-6  # an interpolated normal shorter than this has no direction: the triangle's own is taken


@dataclass(frozen=True)
class Feet:
    """The closest body point of every garment vertex, on the base shape.

    Attributes:
        points: The feet, (G, 3), metres.
        faces: The body triangle that holds each foot, (G,).
        barycentric: Coordinates of the foot in that triangle, rows sum to 1, (G, 3).
        clearance: Signed distance from the skin, outward positive, (G,), metres.
        normals: Unit outward body normal at the foot, interpolated between the vertices, (G, 3).
    """

    points: Float[np.ndarray, "G 3"]
    faces: Int[np.ndarray, " G"]
    barycentric: Float[np.ndarray, "G 3"]
    clearance: Float[np.ndarray, " G"]
    normals: Float[np.ndarray, "G 3"]


def find_feet(tree: Tree, points: Queries) -> Feet:
    """Closest body point of each garment vertex.

    Args:
        tree: The body's triangles on the base shape.
        points: Garment vertices on the base shape, (G, 3), metres.

    Raises:
        ArgumentError: a vertex is not finite.
    """
    clearance, found = signed_clearance(tree, points)
    at_vertices = tree.pseudonormals[0]
    corners = at_vertices[tree.faces[found.faces]]
    corners = corners / np.maximum(np.linalg.norm(corners, axis=2, keepdims=True), np.finfo(float).tiny)
    normals = np.einsum("gc,gcx->gx", found.barycentric, corners)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    flat = tree.pseudonormals[2][found.faces]
    normals = np.where(lengths > LEAST_NORMAL, normals / np.maximum(lengths, LEAST_NORMAL), flat)
    return Feet(found.points, found.faces, found.barycentric, clearance, normals)
