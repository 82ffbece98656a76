"""Fingers and toes that a morph turns or stretches apart from their limb, and the cloth on them."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array, diags_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import BodyPoints, VertexScalars
from dressform.body.body import Body
from dressform.faults.rim_step import find_rigid_patches
from dressform.faults.skin.hidden_skin import thickness
from dressform.garment.along import distance_along, paths_along
from dressform.garment.garment import Garment
from dressform.lift.feet import Feet
from dressform.lift.motion import local_motion
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian import cotangent
from dressform.mesh.tree import Tree
from dressform.repair.blend_rims import without_jumps

LIMB = 0.05
"""The motion of a limb is the average over about this around a vertex; cloth nearer to an end belongs to it, metres."""
THIN = 0.03
"""A part of the body thinner than this is a finger or a toe, metres: as wide as what pucker is judged in."""
OWN_MOTION = 0.25
"""Turn in radians, or lengthening per length, beyond that of its limb, with which skin moves by itself."""
EVEN = 0.01
"""Motion is averaged over about this before, so that noise does not count, metres."""
MIN_AREA = 1e-3
"""A vertex weighs at least this share of the mean."""


@dataclass(frozen=True)
class MovingEnd:
    """Cloth on a finger or toe that moves by itself.

    Attributes:
        core: Cloth on it, and within `LIMB` of that, (G,).
        morphs: On which morphs it moves by itself, (K,).
    """

    core: Bool[np.ndarray, " G"]
    morphs: Bool[np.ndarray, " K"]


class LimbMotion:
    """Averages of motion around each vertex of a body: steps of heat flow over `EVEN` and `LIMB`."""

    def __init__(self, vertices: BodyPoints, faces: np.ndarray) -> None:
        self._vertices, self._faces = vertices, faces
        areas = vertex_areas(vertices, faces)
        self._mass = np.maximum(areas, MIN_AREA * float(areas.mean()))
        stiffness = cotangent(vertices, faces)
        self._near, self._far = (Factor(diags_array(self._mass) + reach**2 * stiffness) for reach in (EVEN, LIMB))

    def own_motion(self, delta: BodyPoints) -> VertexScalars:
        """Difference of the skin's rotation and stretch from its limb's under a displacement, (B,), no unit.

        √(|ω − ω̄|² + (s − s̄)²) with the averages over `EVEN` and over the limb; 0 for a limb that turns or grows as a
        whole.
        """
        turn, stretch = local_motion(self._vertices, self._faces, delta)
        motion = self._mass[:, None] * np.column_stack([turn, stretch])
        return np.linalg.norm(self._near.solve(motion) - self._far.solve(motion), axis=1)


def find_moving_ends(body: Body, garment: Garment, feet: Feet, *, tree: Tree) -> list[MovingEnd]:
    """The cloth on fingers and toes that some morph, at the end of its interval, moves apart from their limb.

    Jumps at the rims of rigid patches are no motion of an end: morphs are taken without them.

    Args:
        body: The body.
        garment: The cloth.
        feet: Where it stands at the base.
        tree: The body's triangles.

    Proof: tests/repair/test_moving_ends.py
    """
    thin = thickness(tree, feet.points, -feet.normals) < THIN
    if not thin.any() or not len(body.morph_names):
        return []
    on = body.faces[feet.faces, np.argmax(feet.barycentric, axis=1)]
    limbs = LimbMotion(body.vertices, body.faces)
    moves = np.stack([thin & (_own_motion(body, limbs, morph)[on] >= OWN_MOTION) for morph in range(len(body.deltas))])
    pieces = _connected(paths_along(garment.vertices, garment.faces), thin)
    ends = []
    for piece in np.unique(pieces[moves.any(axis=0)]):
        own = thin & (pieces == piece)
        core = distance_along(garment.vertices, garment.faces, own, within=LIMB) <= LIMB
        ends.append(MovingEnd(core, np.asarray(moves[:, own].any(axis=1))))
    return ends


def _own_motion(body: Body, limbs: LimbMotion, morph: int) -> VertexScalars:
    """The own motion of the skin under one morph at the end of its interval that is farther away."""
    far = float(max(abs(body.range.low[morph]), abs(body.range.high[morph])))
    motion = far * limbs.own_motion(body.deltas[morph])
    if not (motion >= OWN_MOTION).any():
        return motion
    patches = find_rigid_patches(body.vertices, body.faces, body.deltas[morph])
    if not patches.found:
        return motion
    return far * limbs.own_motion(without_jumps(body, body.deltas[morph], patches.rigid_patches))


def _connected(paths: csr_array, mask: Bool[np.ndarray, " G"]) -> np.ndarray:
    """Number of the connected piece of a mask that each vertex belongs to."""
    pairs = paths.tocoo()
    kept = mask[pairs.row] & mask[pairs.col]
    graph = csr_array((pairs.data[kept], (pairs.row[kept], pairs.col[kept])), shape=pairs.shape)
    return connected_components(graph, directed=False)[1]
