"""Too tight by design: the swap lets out cloth that is nearer to the base body than the margin.

It is let out to what the cloth around it has: where a morph swells, cloth at the margin alone would still be too near.
"""

import numpy as np
from jaxtyping import Float

from dressform.arrays import ClothPoints
from dressform.causes.patch import Patch
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.in_front import IN_FRONT
from dressform.faults.graded.inside import INSIDE
from dressform.faults.graded.pierced import PIERCED
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

WORDS = "the garment let out to the room that the cloth around there has"
CURED = tuple(fault.key for fault in (IN_FRONT, EXPOSED, PIERCED, DEPTH, INSIDE))
"""Faults that more room can cure: cloth that puckers or stretches would do so farther out as well."""
ON_SKIN = 1e-6
"""Nearer to the skin than this the triangle's own normal says which way is out, metres."""
MIN_LACK = 0.0002
"""Less than this that is missing says nothing, metres."""


def matters(patch: Patch) -> bool:
    """Whether some cloth at the cluster lacks room at the base, and room could cure the fault."""
    lack = missing(patch)
    return patch.cluster.fault in CURED and bool(lack > MIN_LACK)


def missing(patch: Patch) -> float:
    """How much clearance is missing at the cluster at the base, metres; 0 where there is enough."""
    return float(max(patch.worn.margin - patch.clearance[patch.core].min(initial=np.inf), 0.0))


def moves(patch: Patch, vertices: ClothPoints) -> Float[np.ndarray, "N 3"]:
    """How far each vertex moves straight out from the skin to have the room of the cloth around it, metres.

    It moves no farther, because more ease would hide the effect of other causes.
    """
    return outward(patch.context.tree, vertices, patch.worn.room[patch.vertices])


def outward(tree: Tree, vertices: ClothPoints, room: Float[np.ndarray, " N"]) -> Float[np.ndarray, "N 3"]:
    """How far each vertex moves straight out from the skin to have a given clearance, metres; never inward."""
    signed, found = signed_clearance(tree, vertices)
    flat = np.abs(signed) < ON_SKIN
    directions = (vertices - found.points) / np.where(flat, 1.0, signed)[:, None]
    directions = np.where(flat[:, None], tree.slots[tree.slot_of[found.faces], 9:], directions)
    return np.maximum(room - signed, 0.0)[:, None] * directions
