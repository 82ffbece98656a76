"""Explains every cluster of a check: swaps one ingredient at a time and measures the fault again."""

from collections.abc import Callable, Mapping, Sequence
from time import perf_counter

from dressform.body.body import Body
from dressform.causes.advice import advise
from dressform.causes.base_places import base_places
from dressform.causes.clusters import find_clusters
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment, explained_wardrobe
from dressform.causes.figures import gather_figures
from dressform.causes.patch import Patch, cut_patch
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
from dressform.causes.swaps import (
    ambiguous_foot,
    another_shape,
    beyond_extremity,
    rigid_patches,
    should_not_follow,
    too_few_vertices,
    too_tight,
)
from dressform.causes.trial import make_trial
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.wardrobe import Wardrobe
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
    wardrobe: Wardrobe[ExplainedGarment] | None = None,
    progress: Progress | None = None,
) -> Causes:
    """Find the cause of every fault of a check.

    Args:
        fits: The garments' fits by key.
        swept: The results of their checks; other keys are ignored.
        bands: The bands that the sweep graded with.
        others: Other base bodies of the body, on which a garment may have been modelled.
        wardrobe: Garments that are already prepared; its `bands` and `others` are then used.
        progress: Called after every garment.

    Proof: tests/causes/test_explain_demo.py
    """
    wardrobe = wardrobe or explained_wardrobe(bands=bands, others=others)
    explained: dict[str, tuple[Explanation, ...]] = {}
    seconds: dict[str, float] = {}
    for number, (key, fit) in enumerate(fits.items(), start=1):
        start = perf_counter()
        explained[key] = explain_garment(wardrobe.worn(fit), swept.of(key), key=key)
        seconds[key] = perf_counter() - start
        if progress is not None:
            progress(number, len(fits))
    return Causes(explained, shared_places(fits, explained), seconds)


def explain_garment(worn: ExplainedGarment, rows: Sequence[SweepRow], *, key: str = "") -> tuple[Explanation, ...]:
    """Explain every cluster of one garment, the most noticed first; nothing where it is clean.

    Args:
        worn: The garment on its body.
        rows: What a sweep found about it.
        key: Key of the fit; the garment's name if left out.
    """
    at_base = base_places(worn, bands=worn.bands)
    clusters = find_clusters(worn, key or worn.fit.garment.name, rows, bands=worn.bands, at_base=at_base)
    contexts: dict[bytes, ExplainedBody] = {}
    explained = []
    for cluster in clusters:
        weights = cluster.worst.weights
        if weights.tobytes() not in contexts:
            contexts[weights.tobytes()] = worn.context.narrowed(weights)
        explained.append(explain_patch(cut_patch(worn, contexts[weights.tobytes()], cluster)))
    return tuple(explained)


def explain_patch(patch: Patch) -> Explanation:
    """Try every swap that could matter at a cluster, and share the fault out among those that do."""
    values: dict[frozenset[str], float] = {}

    def left(causes: frozenset[str]) -> float:
        if causes not in values:
            values[causes] = make_trial(patch, causes).value
        return values[causes]

    whole = left(frozenset())
    tried = [cause for cause, swap in SWAPS.items() if swap.matters(patch)]
    alone = {cause: left(frozenset((cause,))) for cause in tried}
    helping = [cause for cause in tried if alone[cause] <= (1.0 - MIN_ALONE) * whole]
    shared = average_shares(helping, left)
    shares = sorted(
        (Share(cause, shared.get(cause, 0.0), alone[cause], SWAPS[cause].WORDS) for cause in tried),
        key=lambda share: -share.share,
    )
    named = shares[0].cause if shares and shares[0].share >= MIN_SHARE else ""
    evidence = gather_figures(patch, named)
    advice = advise(named, patch.cluster, evidence, line=_line(patch)) if named else None
    return Explanation(patch.cluster, whole, tuple(shares), named, OWNERS.get(named, ""), advice, evidence)


def _line(patch: Patch) -> str:
    """How far the cluster lies from the nearest tape line."""
    return patch.worn.context.tape_lines.near(patch.cluster.worst.place, patch.context.at(patch.weights).vertices)
