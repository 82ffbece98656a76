"""Explains every cluster of one garment: swaps one ingredient at a time and measures the fault again."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from dressform.body.stance import Stance
from dressform.causes.advice import advise
from dressform.causes.base_places import base_places
from dressform.causes.clusters import find_clusters
from dressform.causes.evidence import OF
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.figures import gather_figures
from dressform.causes.patch import Patch, cut_patch
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    FOLLOWING,
    GARMENT,
    JOINT_WEIGHTS,
    LAYER_BELOW,
    METHOD,
    OWNERS,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Cluster,
    Explanation,
    Share,
    Sighting,
)
from dressform.causes.shares import average_shares
from dressform.causes.swaps import (
    ambiguous_foot,
    another_shape,
    beyond_extremity,
    joint_weights,
    layer_below,
    method,
    rigid_patches,
    rough_morph,
    should_not_follow,
    too_few_vertices,
    too_tight,
)
from dressform.causes.trial import make_trial
from dressform.faults.results import SEVERITIES
from dressform.fit.joint_weights import keeps_own
from dressform.sweep.results import SweepRow

SWAPS = {
    ANOTHER_SHAPE: another_shape,
    TOO_TIGHT: too_tight,
    ROUGH_MORPH: rough_morph,
    TOO_FEW_VERTICES: too_few_vertices,
    RIGID_PATCH: rigid_patches,
    SHOULD_NOT_FOLLOW: should_not_follow,
    AMBIGUOUS_FOOT: ambiguous_foot,
    BEYOND_EXTREMITY: beyond_extremity,
    JOINT_WEIGHTS: joint_weights,
    METHOD: method,
    LAYER_BELOW: layer_below,
}
"""The swap of each cause; where shares are equal, the earlier cause is named."""
AT_STANCES = frozenset((ANOTHER_SHAPE, TOO_TIGHT, TOO_FEW_VERTICES, AMBIGUOUS_FOOT, JOINT_WEIGHTS, METHOD, LAYER_BELOW))
"""Swaps that make sense for what is seen at a stance alone; the others cure faults that are there at rest."""
LAST = (METHOD, LAYER_BELOW)
"""Tried only where no other swap takes away half: they take away more than one ingredient."""
MIN_SHARE = 1.0 / 3.0
"""A cause is named where it carries at least this share of the fault, and no other carries more."""
CLEAR = 0.5
"""A cause with at least this share on the worst shape is not looked for on others."""
MAX_SHAPES = 3
"""A cluster that is moderate or grave is explained on at most so many of its shapes; a slight one on its worst."""
MIN_ALONE = 0.1
"""A swap that takes away less than this share of the fault has no part in it."""


def explain_garment(
    worn: ExplainedGarment, rows: Sequence[SweepRow], *, key: str = "", stances: Sequence[Stance] = ()
) -> tuple[Explanation, ...]:
    """Explain every cluster of one garment, the most noticed first; nothing where it is clean.

    Args:
        worn: The garment on its body.
        rows: What a sweep found about it.
        key: Key of the fit; the garment's name if left out.
        stances: Stances at which faults are explained too; rows at others are ignored.
    """
    at_base = base_places(worn, bands=worn.bands)
    clusters = find_clusters(
        worn, key or worn.fit.garment.name, rows, bands=worn.bands, at_base=at_base, stances=stances
    )
    contexts: dict[bytes, ExplainedBody] = {}

    def patches(cluster: Cluster) -> Iterator[Patch]:
        doubtful = cluster.worst.place.severity in SEVERITIES[2:] and cluster.worst.stance is None
        most = MAX_SHAPES if doubtful else 1
        for weights, sighting in itertools.islice(_different(cluster).items(), most):
            if weights not in contexts:
                contexts[weights] = worn.context.narrowed(sighting.weights)
            seen = (sighting, *(one for one in cluster.sightings if one is not sighting))
            yield cut_patch(worn, contexts[weights], replace(cluster, sightings=seen))

    return tuple(explain_patches(patches(cluster)) for cluster in clusters)


def _different(cluster: Cluster) -> dict[bytes, Sighting]:
    """The worst sightings of a cluster on different shapes, at most `MAX_SHAPES`."""
    found: dict[bytes, Sighting] = {}
    for sighting in cluster.sightings:
        if len(found) < MAX_SHAPES:
            found.setdefault(sighting.weights.tobytes(), sighting)
    return found


def explain_patches(patches: Iterator[Patch]) -> Explanation:
    """Explain a cluster on its worst shape, and on the next where that leaves the cause in doubt.

    Shares are averaged over these shapes, weighted by how much of the fault each shows.

    Args:
        patches: The cluster's patch on different shapes, the worst first; at least one.
    """
    told = [_shares_on(first := next(patches))]
    for patch in patches:
        if max(told[0].shares.values(), default=0.0) >= CLEAR or told[0].whole <= 0.0:
            break
        told.append(_shares_on(patch))
    total = sum(one.whole for one in told) or 1.0
    causes = [cause for cause in SWAPS if any(cause in one.alone for one in told)]
    shares = sorted((_share(cause, told, total) for cause in causes), key=lambda share: -share.share)
    named = shares[0].cause if shares and shares[0].share >= MIN_SHARE else ""
    shown = max(told, key=lambda one: one.shares.get(named, 0.0)).patch if named else first
    evidence = gather_figures(shown, named) | (_removed(told[0]) if named == JOINT_WEIGHTS else {})
    advice = advise(named, shown.cluster, evidence, line=_line(first)) if named else None
    owner = OWNERS.get(named, "")
    if named == JOINT_WEIGHTS:
        owner = GARMENT if keeps_own(first.worn.fit) else FOLLOWING
    return Explanation(first.cluster, told[0].whole, tuple(shares), named, owner, advice, evidence)


@dataclass(frozen=True)
class _OnShape:
    """What the swaps do on one shape.

    Attributes:
        patch: The patch there. whole: The fault as it is, in the unit of its band.
        alone: The fault with one cause swapped, for each that was tried. shares: The share of each that helps.
    """

    patch: Patch
    whole: float
    alone: Mapping[str, float]
    shares: Mapping[str, float]


def _removed(on: _OnShape) -> dict[str, float]:
    """What the joint weights that were swapped in remove of the fault, by their kind."""
    gone = 1.0 - on.alone[JOINT_WEIGHTS] / on.whole if on.whole else 0.0
    return {"joints_remove" + OF + kind: max(gone, 0.0) for kind in on.patch.joint_swap}


def _share(cause: str, told: Sequence[_OnShape], total: float) -> Share:
    """The share of a cause over some shapes; what is left with it alone is given for the worst of them."""
    mean = sum(one.whole * one.shares.get(cause, 0.0) for one in told) / total
    tried = next(one for one in told if cause in one.alone)
    left = tried.alone[cause] * (told[0].whole / tried.whole if tried.whole else 1.0)
    return Share(cause, mean, left, SWAPS[cause].WORDS)


def _shares_on(patch: Patch) -> _OnShape:
    """Try every swap that could matter at a cluster, and share the fault out among those that do."""
    values: dict[frozenset[str], float] = {}

    def left(causes: frozenset[str]) -> float:
        if causes not in values:
            values[causes] = make_trial(patch, causes).value
        return values[causes]

    whole = left(frozenset())
    fitting = {cause: swap for cause, swap in SWAPS.items() if patch.stance is None or cause in AT_STANCES}
    matter = [cause for cause, swap in fitting.items() if cause not in LAST and swap.matters(patch)]
    alone = {cause: left(frozenset((cause,))) for cause in matter}
    for cause in LAST:
        if min(alone.values(), default=whole) > (1.0 - method.ENOUGH) * whole and SWAPS[cause].matters(patch):
            alone[cause] = left(frozenset((cause,)))
    helping = [cause for cause in alone if alone[cause] <= (1.0 - MIN_ALONE) * whole]
    return _OnShape(patch, whole, alone, average_shares(helping, left))


def _line(patch: Patch) -> str:
    """How far the cluster lies from the nearest tape line."""
    return patch.worn.context.tape_lines.near(
        patch.cluster.worst.place, patch.context.at(patch.weights, patch.stance).vertices
    )
