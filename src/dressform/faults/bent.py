"""Bent out of shape: how far the cloth has turned from where it would face if it followed the body smoothly."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, Faces, VertexScalars, Weights
from dressform.faults.percentiles import reached
from dressform.fit.fit import Fit
from dressform.garment.following import SMOOTH
from dressform.lift.lift import Lift, make_lift
from dressform.lift.turns import angles_between, turns_between
from dressform.mesh.geometry import vertex_edge_length, vertex_normals
from dressform.mesh.tree import Tree

SAME = 1e-6
"""Cloth that moves this much like the smooth lift, metres, is that lift, up to rounding in a file."""
TURNED = 0.05
"""Cloth that faces within this of where smooth following would have it face is not looked at further, radians."""

GRAIN = 0.01
"""Smooth following is never held to be finer than on skin with edges of this length, metres: so it is the same on the
same skin in finer triangles."""

WIDE, NARROW, NARROW_SHARE = 50e-4, 5e-4, 0.7
"""A turn is seen where a palm of cloth has it, m², or where a fold of 5 cm² has turned 1 ÷ 0.7 as far."""
OTHERS = 1.0 - NARROW / WIDE
"""A fold is itself so much less than the whole of the palm of cloth that it is held against."""


def lifted_smoothly(fit: Fit, body: Tree) -> Lift:
    """How the garment of a fit would follow smoothly.

    Args:
        fit: The fit.
        body: Triangles of its body.
    """
    return make_lift(fit.body, fit.garment, replace(fit.following, method=SMOOTH), tree=body)


def held_against(fit: Fit, lift: Lift, body: Tree) -> Lift | None:
    """The smooth lift that a garment is held against; None where it follows smoothly just so.

    It is that of a body whose edges are no shorter than `GRAIN`: smooth following takes its width from the edges of
    the skin under the cloth. On skin in ever finer triangles it prints ever more of it, and cloth that follows as
    before would come out bent.

    Args:
        fit: The fit.
        lift: How it would follow smoothly, from `lifted_smoothly`.
        body: Triangles of its body.

    Proof: tests/faults/test_bent.py::test_skin_in_finer_triangles_keeps_how_far_cloth_is_bent
    """
    if _follows_smoothly(fit, lift):
        return None
    edges = vertex_edge_length(lift.body.vertices, lift.body.faces)
    if (lift.rows @ edges).min(initial=GRAIN) >= GRAIN:
        return lift
    return make_lift(
        lift.body, lift.garment, lift.following, tree=body, feet=lift.feet, skin_edge_length=np.maximum(edges, GRAIN)
    )


def _follows_smoothly(fit: Fit, lift: Lift) -> bool:
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
        lift: How it would follow smoothly, from `held_against`.
        cloth: The cloth on a shape, (G, 3), metres.
        faces: Its triangles.
        leaders: From `seam_leaders`, so that cloth cut along a seam has one normal there.
        weights: The shape.

    Source: our own. Proof: tests/faults/test_bent.py::test_a_roof_is_bent_by_its_slope
    """
    there, meant = (vertex_normals(points, leaders[faces])[leaders] for points in (cloth, _carried(lift, weights)))
    angles = angles_between(there, meant)
    turned = np.flatnonzero(angles > TURNED)
    if turned.size:
        made = vertex_normals(lift.garment.vertices, leaders[faces])[leaders[turned]]
        body = lift.body
        turns = turns_between(body.vertices, body.at(weights), body.faces[lift.feet.faces[turned]])
        with_skin = np.einsum("nij,nj->ni", turns, made)
        angles[turned] = np.minimum(angles[turned], angles_between(there[turned], with_skin))
    return angles


def seen_turn(
    turn: VertexScalars, areas: VertexScalars, own_turn: Callable[[Bool[np.ndarray, " G"]], Float[np.ndarray, " N"]]
) -> float:
    """The one figure that is graded, radians: the turn that 50 cm² reach, or 0.7 of the turn of a fold of 5 cm².

    A single fold is seen at once from 11° on, a whole panel from 8° on (docs/decisions/bands.md). A fold turns
    beside the cloth around it: where it turns with that, as on a stiff stall whose finger curls, the smaller angle
    counts.

    Args:
        turn: Of each cloth vertex, from `bent`.
        areas: Its area, m².
        own_turn: Of those vertices that are asked for, the turn from where they would face if they turned with the
            cloth around them, radians, as from `OwnTurn.departure`. A whole panel is judged without it.

    Proof: tests/faults/test_bent.py::test_a_single_fold_is_told_by_its_own_turn
    """
    wide = reached(turn, areas, WIDE)
    if NARROW_SHARE * reached(turn, areas, NARROW) <= wide:
        return wide
    asked = NARROW_SHARE * turn > wide
    folded = turn.copy()
    folded[asked] = np.minimum(turn[asked], own_turn(asked) / OTHERS)
    return max(wide, NARROW_SHARE * reached(folded, areas, NARROW))


def _carried(lift: Lift, weights: Weights) -> ClothPoints:
    """Where the smooth lift carries the cloth, (G, 3), metres."""
    moved = np.tensordot(weights, lift.body.deltas, axes=1)
    return lift.garment.vertices + lift.displacements(moved[None])[0]
