"""Feet: the body point that each garment vertex stands on."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, Faces
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.topology import components
from dressform.mesh.tree import Tree

MIN_NORMAL = 1e-6  # an interpolated normal shorter than this has no direction: the triangle's own is taken
ONE_SIDED = 0.7  # a piece with this share facing one direction is a single sheet; thick cloth faces both directions
FARTHER = 1.5  # a foot on the right side may lie at this many times the distance of the closest point,
FARTHER_BY = 0.01  # plus this many metres; beyond that the cloth is rolled over, as a collar is


@dataclass(frozen=True)
class Feet:
    """The body point under every garment vertex, at the base.

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


def find_feet(tree: Tree, vertices: ClothPoints, faces: Faces) -> Feet:
    """Find the body point under each garment vertex: the closest that is not on the other side of a gap.

    In a narrow gap (between fingers, under the arm) the closest point may belong to the part across the gap, whose
    skin faces the cloth from outside. Where a sheet of cloth faces such skin, the closest point whose skin faces the
    same direction as the cloth is taken instead, if one is near enough.

    Args:
        tree: The body's triangles at the base.
        vertices: Garment vertices at the base, (G, 3), metres.
        faces: Its triangles, (F, 3).

    Raises:
        ArgumentError: a vertex is not finite, or a face indexes none.

    Proof: tests/lift/test_bleeding.py::test_in_a_narrow_gap_the_cloth_stays_with_its_own_finger
    """
    clearance, found = signed_clearance(tree, vertices)
    points, on_faces, barycentric = found.points.copy(), found.faces.copy(), found.barycentric.copy()
    outward = vertex_normals(vertices, faces)
    across = np.einsum("gx,gx->g", outward, tree.pseudonormals[2][found.faces])
    wrong, directions = _facing_away(outward, across, faces)
    if wrong.any():
        picked = np.flatnonzero(wrong)
        signed, near = signed_clearance(tree, vertices[picked], normals=directions[picked])
        kept = (near.faces >= 0) & (near.distances <= FARTHER * found.distances[picked] + FARTHER_BY)
        picked = picked[kept]
        points[picked], on_faces[picked] = near.points[kept], near.faces[kept]
        barycentric[picked], clearance[picked] = near.barycentric[kept], signed[kept]
    return Feet(points, on_faces, barycentric, clearance, _normals(tree, on_faces, barycentric))


def _facing_away(
    outward: Float[np.ndarray, "G 3"], across: Float[np.ndarray, " G"], faces: Faces
) -> tuple[Bool[np.ndarray, " G"], Float[np.ndarray, "G 3"]]:
    """Vertices that face their foot's skin unlike the rest of their sheet, and how their own skin would face."""
    if (across >= 0).all():
        return np.zeros(len(across), dtype=bool), outward
    pieces = components(faces, len(outward))
    share = np.bincount(pieces, weights=across >= 0) / np.bincount(pieces)
    facing = np.where(share >= ONE_SIDED, 1.0, np.where(share <= 1.0 - ONE_SIDED, -1.0, 0.0))[pieces]
    return facing * across < 0, facing[:, None] * outward


def _normals(
    tree: Tree, on_faces: Int[np.ndarray, " G"], barycentric: Float[np.ndarray, "G 3"]
) -> Float[np.ndarray, "G 3"]:
    """Unit outward normals interpolated between the vertices of a face."""
    corners = tree.pseudonormals[0][tree.faces[on_faces]]
    corners = corners / np.maximum(np.linalg.norm(corners, axis=2, keepdims=True), np.finfo(float).tiny)
    normals = np.einsum("gc,gcx->gx", barycentric, corners)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    return np.where(lengths > MIN_NORMAL, normals / np.maximum(lengths, MIN_NORMAL), tree.pseudonormals[2][on_faces])
