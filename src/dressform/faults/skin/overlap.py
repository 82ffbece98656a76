"""Finds where the body overlaps itself or leaves the cloth no room; faults there are not counted."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree

OFF_SKIN = 1e-4
"""Rays start this far off the skin, metres, so that they don't meet the triangle they leave."""
THICKEST = 0.5
"""No part of a body is thicker than this, metres: a ray that starts in one leaves it earlier."""


def overlapping(tree: Tree, asked: Int[np.ndarray, " N"], normals: Float[np.ndarray, "V 3"]) -> Bool[np.ndarray, " V"]:
    """Body vertices, among those given, whose skin lies inside another part of the body, (V,).

    A ray is sent along the outward normal. If it meets its first triangle from behind, it leaves a part that its start
    was in. The answer equals a winding number of 2 just under the skin, at a tenth of the cost.

    Proof: tests/faults/skin/test_overlap.py::test_overlap_is_where_the_winding_number_is_two
    """
    inside = np.zeros(len(tree.vertices), dtype=bool)
    vertices = asked[np.abs(normals[asked]).sum(axis=1) > 0]
    directions = normals[vertices]
    hits = first_hit(tree, tree.vertices[vertices], directions, near=OFF_SKIN, far=THICKEST)
    inside[vertices] = _from_behind(tree, hits.faces, directions)
    return inside


def no_room(
    tree: Tree,
    feet: Float[np.ndarray, "N 3"],
    normals: Float[np.ndarray, "N 3"],
    base_clearance: Float[np.ndarray, " N"],
) -> Bool[np.ndarray, " N"]:
    """Whether another part of the body is nearer to each foot than the cloth's clearance at the base, (N,).

    True also where the foot itself lies inside that part.

    Args:
        tree: The body on a shape.
        feet: Base feet of cloth vertices, moved with the body, metres.
        normals: Unit normals of the skin there.
        base_clearance: Clearance of these cloth vertices at the base, metres.
    """
    hits = first_hit(tree, feet, normals, near=OFF_SKIN, far=THICKEST)
    return _from_behind(tree, hits.faces, normals) | (hits.distances < np.maximum(base_clearance, OFF_SKIN))


def _from_behind(
    tree: Tree, faces: Int[np.ndarray, " N"], directions: Float[np.ndarray, "N 3"]
) -> Bool[np.ndarray, " N"]:
    """Whether each ray met its triangle on the inner side, (N,)."""
    met = tree.slots[tree.slot_of[faces], 9:]
    return (faces >= 0) & (np.einsum("ni,ni->n", met, directions) > 0)
