"""Ambiguous foot: the swap keeps the feet of cloth between two skins on the skin under the rest of the sheet.

Where room changes there, it also brings the cloth clearly nearer to that skin.

The feet of cloth near the skin are secure. From there outward along the cloth, a foot may move along the skin no
farther than the cloth does. A nearer skin that lies farther along the surface belongs to another part of the body.
"""

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array, eye_array
from scipy.sparse.csgraph import dijkstra

from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.fade import faded_moves
from dressform.causes.patch import Patch
from dressform.faults.graded.clearance import CLEARANCE
from dressform.garment.garment import Garment
from dressform.lift.feet import Feet, find_feet
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree

CLEARLY = (0.45, 0.35)
"""Shares of the gap between two skins within which cloth is clearly nearer to its own; advice tries them in turn."""
WORDS = "feet kept on the skin that the cloth around them leads to; where room changes, the cloth nearer to it too"


def matters(patch: Patch) -> bool:
    """Whether cloth at or near the cluster (within the lift's reach) has a foot that the cloth does not lead to."""
    return bool(patch.weights.any() and patch.worn.gates.gated[patch.vertices].any())


def gated_feet(patch: Patch, garment: Garment, rows: csr_array) -> tuple[Feet, Bool[np.ndarray, " W"]]:
    """Feet of the patch, with those that the cloth does not lead to replaced by the nearest valid ones; and which."""
    return led_feet(patch.worn, patch.vertices, garment, rows)


def moves(patch: Patch) -> Float[np.ndarray, "N 3"]:
    """How far each vertex moves to lie clearly nearer to its own skin, metres; nothing but for room that changes.

    Room is measured to the nearest skin. Between two skins that part it changes whichever of them the cloth follows: it
    keeps only where the cloth is clearly nearer to its own.
    """
    worn = patch.worn
    if patch.cluster.fault != CLEARANCE.key or patch.stance is not None:
        return np.zeros_like(patch.fit.garment.vertices)
    count = len(worn.fit.base)
    feet, held = led_feet(worn, np.arange(count), worn.fit.garment, csr_array(eye_array(count)))
    return faded_moves(worn.paths, nearer(worn, feet, held, CLEARLY[-1]), held)[patch.vertices]


def nearer(worn: ExplainedGarment, feet: Feet, held: Bool[np.ndarray, " G"], share: float) -> Float[np.ndarray, "G 3"]:
    """How far held vertices move towards their feet to lie within a share of the gap to the other skin, metres."""
    away = feet.clearance
    lack = np.where(held, np.maximum(away - share * (away + np.abs(worn.feet.clearance)), 0.0), 0.0)
    ways = feet.points - worn.fit.garment.vertices
    return np.asarray(ways * (lack / np.maximum(away, 1e-9))[:, None])


def led_feet(
    worn: ExplainedGarment, vertices: Int[np.ndarray, " N"], garment: Garment, rows: csr_array
) -> tuple[Feet, Bool[np.ndarray, " W"]]:
    """Feet of some cloth, kept where the cloth leads.

    Args:
        worn: The garment as it is.
        vertices: Which of its vertices the cloth is made from, (N,).
        garment: The cloth.
        rows: From those vertices to its own, (W, N).

    Returns:
        Its feet, and which of them were replaced, (W,).
    """
    gates, tree = worn.gates, worn.context.tree
    feet = find_feet(tree, garment.vertices, garment.faces)
    held = np.asarray(rows @ gates.gated[vertices].astype(np.float64) >= 0.5)
    parent = vertices[np.asarray(rows.argmax(axis=1)).ravel()]
    points, faces, barycentric = feet.points.copy(), feet.faces.copy(), feet.barycentric.copy()
    clearance, normals = feet.clearance.copy(), feet.normals.copy()
    for source in np.unique(gates.source[parent[held]]):
        asked = np.flatnonzero(held & (gates.source[parent] == source))
        reach = float(gates.limits[parent[asked]].max())
        distance = dijkstra(worn.context.paths, directed=False, indices=np.array([source]), limit=reach)[0]
        near = np.flatnonzero(np.isfinite(distance)[tree.faces].all(axis=1))
        if not near.size:
            continue
        found = closest(Tree(tree.vertices, tree.faces[near]), garment.vertices[asked])
        points[asked], barycentric[asked] = found.points, found.barycentric
        faces[asked], clearance[asked] = near[found.faces], found.distances
        away = garment.vertices[asked] - found.points
        normals[asked] = away / np.maximum(found.distances, np.finfo(float).tiny)[:, None]
    return Feet(points, faces, barycentric, clearance, normals), held
