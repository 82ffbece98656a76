"""Bent out of shape: how far the cloth has turned from where it would face if it followed the body smoothly."""

from dataclasses import replace

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import ClothPoints, Faces, Points, VertexScalars, Weights
from dressform.faults.percentiles import reached
from dressform.fit.fit import Fit
from dressform.garment.following import SMOOTH
from dressform.lift.lift import Lift, make_lift
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.tree import Tree

SAME = 1e-6
"""Cloth that moves this much like the smooth lift, metres, is that lift, up to rounding in a file."""
TURNED = 0.05
"""Cloth that faces within this of where smooth following would have it face is not looked at further, radians."""

WIDE, NARROW, NARROW_SHARE = 50e-4, 5e-4, 0.7
"""A turn is seen where a palm of cloth has it, m², or where a fold of 5 cm² has turned 1 ÷ 0.7 as far."""


def lifted_smoothly(fit: Fit, body: Tree) -> Lift:
    """How the garment of a fit would follow smoothly.

    Args:
        fit: The fit.
        body: Triangles of its body.
    """
    return make_lift(fit.body, fit.garment, replace(fit.following, method=SMOOTH), tree=body)


def follows_smoothly(fit: Fit, lift: Lift) -> bool:
    """Whether a fit follows just as a lift would have it, on every shape.

    Both are linear in the weights, so one random mixture of all morphs tells whether they are the same.
    """
    if not (fit.is_linear and np.array_equal(fit.base, fit.garment.vertices)):
        return False
    mixture = np.random.default_rng(0).uniform(0.5, 1.0, len(fit.deltas))
    moved = _carried(lift, mixture) - fit.garment.vertices
    return bool(np.abs(moved - np.tensordot(mixture, fit.deltas, axes=1)).max(initial=0.0) < SAME)


def bent(
    lift: Lift, cloth: ClothPoints, faces: Faces, leaders: Int[np.ndarray, " G"], weights: Weights
) -> Float[np.ndarray, " G"]:
    """Angle at each cloth vertex between its normal and that of the same cloth carried smoothly, radians, (G,).

    Where the skin under it turns by more than the smooth lift does, as on a finger that curls, cloth that turns with
    the skin is as right: the smaller of both angles counts.

    Args:
        lift: How it would follow smoothly.
        cloth: The cloth on a shape, (G, 3), metres.
        faces: Its triangles.
        leaders: From `seam_leaders`, so that cloth cut along a seam has one normal there.
        weights: The shape.

    Source: our own. Proof: tests/faults/test_bent.py::test_a_roof_is_bent_by_its_slope
    """
    there, meant = (vertex_normals(points, leaders[faces])[leaders] for points in (cloth, _carried(lift, weights)))
    angles = _between(there, meant)
    turned = np.flatnonzero(angles > TURNED)
    if turned.size:
        made = vertex_normals(lift.garment.vertices, leaders[faces])[leaders[turned]]
        body = lift.body
        turns = turns_between(body.vertices, body.at(weights), body.faces[lift.feet.faces[turned]])
        with_skin = np.einsum("nij,nj->ni", turns, made)
        angles[turned] = np.minimum(angles[turned], _between(there[turned], with_skin))
    return angles


def seen_turn(turn: VertexScalars, areas: VertexScalars) -> float:
    """The one figure that is graded, radians: the turn that 50 cm² reach, or 0.7 of the turn that 5 cm² reach.

    A single fold is seen at once from 11° on, a whole panel from 8° on (docs/decisions/bands.md).

    Args:
        turn: Of each cloth vertex, from `bent`.
        areas: Its area, m².

    Proof: tests/faults/test_bent.py::test_a_single_fold_is_told_by_its_own_turn
    """
    return max(reached(turn, areas, WIDE), NARROW_SHARE * reached(turn, areas, NARROW))


def _between(one: Float[np.ndarray, "N 3"], other: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, " N"]:
    """Angles between unit vectors."""
    return np.arctan2(np.linalg.norm(np.cross(one, other), axis=1), np.einsum("nx,nx->n", one, other))


def turns_between(made: Points, moved: Points, corners: Int[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3 3"]:
    """Rotation of each triangle: the nearest to its deformation, thickness kept, (N, 3, 3).

    Args:
        made: The mesh before, (V, 3), metres.
        moved: The mesh after.
        corners: Vertices of the triangles asked for.
    """
    frames = []
    for points in (made, moved):
        first, second = (points[corners[:, k]] - points[corners[:, 0]] for k in (1, 2))
        across = np.cross(first, second)
        normal = across / np.maximum(np.linalg.norm(across, axis=1), np.finfo(float).tiny)[:, None]
        frames.append(np.stack([first, second, normal], axis=2))
    left, _, right = np.linalg.svd(frames[1] @ np.linalg.pinv(frames[0]))
    signs = np.ones((len(corners), 3))
    signs[:, 2] = np.sign(np.linalg.det(left @ right))
    return np.asarray((left * signs[:, None]) @ right)


def _carried(lift: Lift, weights: Weights) -> ClothPoints:
    """Where the smooth lift carries the cloth, (G, 3), metres."""
    moved = np.tensordot(weights, lift.body.deltas, axes=1)
    return lift.garment.vertices + lift.displacements(moved[None])[0]
