"""Too tight by design: the swap lets out cloth that is nearer to the base body than the margin.

It is let out to what the cloth around it has: where a morph swells, cloth at the margin alone would still be too near.
"""

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import ClothPoints, Faces
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
SUNK = 0.5
"""Share of the vertices at a cluster that lie in the skin where the garment was modelled inside it."""
MOST_SAG = 0.01
"""Triangles that bridge a hollow cut through skin that no room could clear: no more than this is made up, metres."""
MIN_LACK = 0.0002
"""Less than this that is missing says nothing, metres."""


def matters(patch: Patch) -> bool:
    """Whether some cloth at the cluster lacks room at the base, and room could cure the fault."""
    lack = missing(patch)
    return patch.cluster.fault in CURED and bool(lack > MIN_LACK)


def missing(patch: Patch) -> float:
    """How much clearance is missing at the cluster at the base, metres; 0 where there is enough."""
    return float(max(patch.worn.margin - patch.clearance[_cloth(patch)].min(initial=np.inf), 0.0))


def _cloth(patch: Patch) -> Bool[np.ndarray, " N"]:
    """The cloth at the cluster; where it lies deeper in the body than a cluster reaches, the nearest triangles."""
    return patch.core if patch.core.any() else patch.near


def moves(patch: Patch, vertices: ClothPoints) -> Float[np.ndarray, "N 3"]:
    """How far each vertex moves straight out from the skin to have the room of the cloth around it, metres.

    It moves no farther, because more ease would hide the effect of other causes. Only where most of the cloth at the
    cluster lies in the skin as modelled, it also moves until the middles of its triangles are out: a garment that is
    wholly inside is too tight, however coarse it is.
    """
    tree, room = patch.context.tree, patch.worn.room[patch.vertices]
    out = outward(tree, vertices, room)
    if patch.cluster.fault == IN_FRONT.key and np.mean(patch.clearance[_cloth(patch)] < 0.0) > SUNK:
        out = outward(tree, vertices, room + _sag(tree, vertices + out, patch.fit.garment.faces, patch.worn.margin))
    return out


def _sag(tree: Tree, vertices: ClothPoints, faces: Faces, margin: float) -> Float[np.ndarray, " N"]:
    """How much clearance the middles of the triangles round each vertex, and of their sides, lack, metres, (N,)."""
    corners = vertices[faces]
    middles = np.stack([corners.mean(axis=1), *(0.5 * (corners[:, k] + corners[:, (k + 1) % 3]) for k in range(3))])
    signed, _ = signed_clearance(tree, middles.reshape(-1, 3))
    lack = np.maximum(margin - signed.reshape(4, -1).min(axis=0), 0.0)
    worst = np.zeros(len(vertices))
    np.maximum.at(worst, faces.ravel(), np.repeat(np.minimum(lack, MOST_SAG), 3))
    return worst


def outward(tree: Tree, vertices: ClothPoints, room: Float[np.ndarray, " N"]) -> Float[np.ndarray, "N 3"]:
    """How far each vertex moves straight out from the skin to have a given clearance, metres; never inward."""
    signed, found = signed_clearance(tree, vertices)
    flat = np.abs(signed) < ON_SKIN
    directions = (vertices - found.points) / np.where(flat, 1.0, signed)[:, None]
    directions = np.where(flat[:, None], tree.slots[tree.slot_of[found.faces], 9:], directions)
    return np.maximum(room - signed, 0.0)[:, None] * directions
