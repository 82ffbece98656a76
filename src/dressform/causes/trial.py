"""A trial: a patch with some ingredients swapped, fitted again, and its fault measured again."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array, eye_array

from dressform.arrays import BodyPoints
from dressform.body.skeleton import Skin
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.patch import Patch
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    JOINT_WEIGHTS,
    LAYER_BELOW,
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
)
from dressform.causes.swaps import (
    ambiguous_foot,
    another_shape,
    beyond_extremity,
    joint_weights,
    should_not_follow,
    too_few_vertices,
    too_tight,
)
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.registry import FAULT_OF, is_on_body
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import carried_skin, choose_joints, keeps_own
from dressform.garment.following import SMOOTH, Following
from dressform.garment.garment import Garment
from dressform.garment.methods import is_lifted
from dressform.lift.feet import Feet
from dressform.repair.refine import refined_garment

REMADE = frozenset((ANOTHER_SHAPE, TOO_TIGHT, TOO_FEW_VERTICES, AMBIGUOUS_FOOT, RIGID_PATCH, ROUGH_MORPH, METHOD))
"""Causes whose swap lifts the cloth anew."""


NEARLY = 0.02
"""Of joint weights that leave a share of the fault that differs by less than this, the first kind is taken."""


@dataclass(frozen=True)
class Trial:
    """The patch after the swaps.

    Attributes:
        patch: The patch.
        fit: The patch with its ingredients swapped.
        rows: Interpolation from the vertices of the patch to its own, (W, N).
        context: The body that it is worn on.
        under: What is worn under it.
    """

    patch: Patch
    fit: Fit
    rows: csr_array
    context: ExplainedBody
    under: tuple[Fit, ...]

    @cached_property
    def value(self) -> float:
        """The fault at the cluster, in the unit of its band: the worst vertex, or the sum where values add up."""
        worn = self.worn
        value = self.measured(worn)
        worn.forget()
        return value

    def measured(self, worn: GarmentOnBody) -> float:
        """The fault at the cluster of the same cloth, carried as it is or by other joints."""
        patch, fault = self.patch, self.patch.cluster.fault
        field = worn.field(fault, patch.weights, patch.stance)
        core = patch.core_skin if is_on_body(fault) else self.rows @ patch.core.astype(np.float64) >= 0.5
        if FAULT_OF[fault].is_summed:
            return float(field[core].sum())
        return float(max((-field if patch.cluster.worst.place.value < 0 else field)[core].max(initial=0.0), 0.0))

    @property
    def worn(self) -> GarmentOnBody:
        """Its faults."""
        patch = self.patch
        pieces = replace(patch.pieces, of_vertices=patch.pieces.of_vertices[should_not_follow.parents(self.rows)])
        meant = None if patch.meant is None else self.rows @ patch.meant
        smooth = None if patch.smooth_skin is None else carried_skin(self.rows, patch.smooth_skin)
        return GarmentOnBody(
            self.fit, context=self.context, pieces=pieces, skin=patch.skin, meant=meant, under=self.under,
            smooth_skin=smooth,
        )  # fmt: skip


def make_trial(patch: Patch, causes: Collection[str]) -> Trial:
    """Swap the ingredients of some causes, always in this order: the cloth, what it follows, how it follows.

    Args:
        patch: The patch.
        causes: Whose ingredients are swapped; none leaves it as it is.
    """
    rows = csr_array(eye_array(len(patch.vertices)))
    fit, garment = patch.fit, patch.fit.garment
    context = patch.context.even if ROUGH_MORPH in causes else patch.context
    moves = np.zeros_like(garment.vertices)
    if ANOTHER_SHAPE in causes:
        moves += another_shape.moves(patch)
    if TOO_TIGHT in causes:
        moves += too_tight.moves(patch, garment.vertices + moves)
    if AMBIGUOUS_FOOT in causes:
        moves += ambiguous_foot.moves(patch)
    if moves.any():
        garment = replace(garment, vertices=garment.vertices + moves)
    if TOO_FEW_VERTICES in causes:
        split = too_few_vertices.split(patch, garment)
        garment, rows = refined_garment(garment, split), split.rows
    if REMADE & set(causes):
        gated = ambiguous_foot.gated_feet(patch, garment, rows) if AMBIGUOUS_FOOT in causes else None
        delta = context.calm if RIGID_PATCH in causes else context.body.deltas[0]
        following = patch.fit.following
        if METHOD in causes:
            following = replace(following, method=SMOOTH, rotation_share=None)
        fit = replace(_relifted(patch, garment, rows, delta, gated, following), body=context.body)
    if BEYOND_EXTREMITY in causes:
        fit = beyond_extremity.followed_whole(patch, fit, rows)
    if JOINT_WEIGHTS in causes:
        fit = replace(fit, skin=carried_skin(rows, _best_joints(patch)))
    if SHOULD_NOT_FOLLOW in causes:
        fit = should_not_follow.left_alone(patch, fit, rows)
    return Trial(patch, fit, rows, context, () if LAYER_BELOW in causes else patch.under)


def _best_joints(patch: Patch) -> Skin:
    """Of the other joint weights those that leave least of the fault, of nearly equal ones the first."""
    if not patch.joint_swap:
        skins, trial = joint_weights.alternatives(patch), make_trial(patch, ())
        worn = trial.worn
        left = {kind: trial.measured(worn.carried_by(skin)) for kind, skin in skins.items()}
        least = min(left.values())
        best = next(kind for kind in left if left[kind] <= least + NEARLY * trial.value)
        patch.joint_swap[best] = skins[best]
    return next(iter(patch.joint_swap.values()))


def _relifted(
    patch: Patch,
    garment: Garment,
    rows: csr_array,
    delta: BodyPoints,
    gated: tuple[Feet, Bool[np.ndarray, " W"]] | None,
    following: Following,
) -> Fit:
    """The patch's fit with another garment, other feet or another displacement of the body.

    A patch has an edge where the garment has none, and a fit may have been repaired. So the lift of the unchanged patch
    is subtracted and the rest of the fit is kept: only the difference between two lifts counts.
    """
    old = patch.fit
    lift = patch.lift(garment, gated, following)
    lifted = lift.displacements(delta[None])[0]
    if following.method != old.following.method and not is_lifted(old.following.method):
        # Nothing of a method that is not ours is kept where ours takes its place.
        joints = None if old.skin is None else choose_joints(lift, following).skin
        return replace(old, garment=garment, base=garment.vertices, deltas=lifted[None], skin=joints)
    base = garment.vertices + rows @ (old.base - old.garment.vertices)
    skin = None if old.skin is None else carried_skin(rows, old.skin)
    if patch.stance is not None and (gated is not None or following is not old.following) and not keeps_own(old):
        skin = choose_joints(lift, following).skin
    moved = lifted + rows @ (old.deltas[0] - patch.plain)
    return replace(old, garment=garment, base=base, deltas=moved[None], skin=skin)
