"""Explaining: for every cluster of a check the causes that are shown by swapping one ingredient and measuring again."""

from collections.abc import Callable, Mapping, Sequence
from time import perf_counter

from dressform.body.body import Body
from dressform.causes import (
    ambiguous_foot,
    another_shape,
    beyond_extremity,
    rigid_patches,
    should_not_follow,
    too_few_vertices,
    too_tight,
)
from dressform.causes.advice import advise
from dressform.causes.base_places import base_places
from dressform.causes.case import Case, make_case
from dressform.causes.clusters import find_clusters
from dressform.causes.figures import gather_figures
from dressform.causes.ground import Ground
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    OWNERS,
    RIGID_PATCH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Causes,
    Explanation,
    Share,
)
from dressform.causes.shared import shared_places
from dressform.causes.shares import average_shares
from dressform.causes.trial import make_trial
from dressform.causes.wearing import Wearing
from dressform.faults.check import DEFAULT_BANDS
from dressform.faults.severity import Bands
from dressform.fit.fit import Fit
from dressform.sweep.results import SweepResult, SweepRow

SWAPS = {
    ANOTHER_SHAPE: another_shape,
    TOO_TIGHT: too_tight,
    TOO_FEW_VERTICES: too_few_vertices,
    RIGID_PATCH: rigid_patches,
    SHOULD_NOT_FOLLOW: should_not_follow,
    AMBIGUOUS_FOOT: ambiguous_foot,
    BEYOND_EXTREMITY: beyond_extremity,
}
"""The swap of each cause; where shares are equal, the earlier cause is named."""
MIN_SHARE = 1.0 / 3.0
"""A cause is named where it carries at least this share of the fault, and no other carries more."""
MIN_ALONE = 0.1
"""A swap that takes away less than this share of the fault has no part in it."""


Progress = Callable[[int, int], None]
"""Called with the number of garments that are done and the number of all."""


def explain(
    fits: Mapping[str, Fit],
    swept: SweepResult,
    *,
    bands: Bands = DEFAULT_BANDS,
    others: Sequence[Body] = (),
    progress: Progress | None = None,
) -> Causes:
    """Why every fault of a check is there.

    Args:
        fits: The garments' fits by key.
        swept: What was found about them; of other keys nothing is said.
        bands: The bands that the sweep graded with.
        others: Other base bodies of the body, on which a garment may have been modelled.
        progress: Told after every garment.

    Proof: tests/causes/test_explain_demo.py
    """
    grounds: dict[int, Ground] = {}
    explained: dict[str, tuple[Explanation, ...]] = {}
    seconds: dict[str, float] = {}
    for number, (key, fit) in enumerate(fits.items(), start=1):
        start = perf_counter()
        ground = grounds.setdefault(id(fit.body), Ground(fit.body))
        explained[key] = explain_garment(fit, swept.of(key), key=key, bands=bands, others=others, ground=ground)
        seconds[key] = perf_counter() - start
        if progress is not None:
            progress(number, len(fits))
    return Causes(explained, shared_places(fits, explained), seconds)


def explain_garment(
    fit: Fit,
    rows: Sequence[SweepRow],
    *,
    key: str = "",
    bands: Bands = DEFAULT_BANDS,
    others: Sequence[Body] = (),
    ground: Ground | None = None,
) -> tuple[Explanation, ...]:
    """Explain every cluster of one garment, the most noticed first; nothing where it is clean.

    Args:
        fit: The garment's fit.
        rows: What a sweep found about it.
        key: Key of the fit; the garment's name if left out.
        bands: As for `explain`. others: Likewise.
        ground: Its body, where it has been looked at for another garment.
    """
    ground = ground or Ground(fit.body)
    wearing = Wearing(ground, fit, others=others)
    meant = None if wearing.origin is None else wearing.origin.meant
    at_base = base_places(wearing.measuring, bands=bands, meant=meant)
    clusters = find_clusters(wearing.measuring, key or fit.garment.name, rows, bands=bands, at_base=at_base)
    grounds: dict[bytes, Ground] = {}
    explained = []
    for cluster in clusters:
        weights = cluster.worst.weights
        if weights.tobytes() not in grounds:
            grounds[weights.tobytes()] = ground.narrowed(weights)
        explained.append(explain_case(make_case(wearing, grounds[weights.tobytes()], cluster)))
    return tuple(explained)


def explain_case(case: Case) -> Explanation:
    """Try every swap that could matter at a cluster, and share the fault out among those that do."""
    values: dict[frozenset[str], float] = {}

    def left(causes: frozenset[str]) -> float:
        if causes not in values:
            values[causes] = make_trial(case, causes).value
        return values[causes]

    whole = left(frozenset())
    tried = [cause for cause, swap in SWAPS.items() if swap.matters(case)]
    alone = {cause: left(frozenset((cause,))) for cause in tried}
    helping = [cause for cause in tried if alone[cause] <= (1.0 - MIN_ALONE) * whole]
    shared = average_shares(helping, left)
    shares = sorted(
        (Share(cause, shared.get(cause, 0.0), alone[cause], SWAPS[cause].WORDS) for cause in tried),
        key=lambda share: -share.share,
    )
    named = shares[0].cause if shares and shares[0].share >= MIN_SHARE else ""
    evidence = gather_figures(case, named)
    advice = advise(named, case.cluster, evidence, line=_line(case)) if named else None
    return Explanation(case.cluster, whole, tuple(shares), named, OWNERS.get(named, ""), advice, evidence)


def _line(case: Case) -> str:
    """How far the cluster lies from the nearest tape line."""
    return case.wearing.ground.tape_lines.near(case.cluster.worst.place, case.ground.at(case.weights).vertices)
