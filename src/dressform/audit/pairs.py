"""Pairs of morphs that move the same skin, and faults that appear only when both are active."""

from itertools import product

import numpy as np
from jaxtyping import Float

from dressform.audit import find
from dressform.audit.prepared import PreparedBody
from dressform.audit.ranking import pair_badness
from dressform.audit.results import PairAudit
from dressform.audit.tangle import Ends, tangle_of

MIN_OVERLAP = 0.01
"""Two morphs overlap when they move together at least this share of what the weaker one moves."""


def overlaps(base: PreparedBody) -> list[tuple[int, int, float]]:
    """Pairs of morphs that move the same skin, and how much: area times the shorter move, m³, largest first."""
    body, areas = base.body, base.skin.areas
    reach = np.maximum(np.abs(body.range.low), np.abs(body.range.high))
    lengths: Float[np.ndarray, "K B"] = np.linalg.norm(body.deltas, axis=2) * reach[:, None]
    strengths = lengths @ areas
    found = []
    for first in range(len(lengths) - 1):
        shared = np.minimum(lengths[first], lengths[first + 1 :]) @ areas
        for second, overlap in enumerate(shared, start=first + 1):
            if overlap > MIN_OVERLAP * min(strengths[first], strengths[second]):
                found.append((first, second, float(overlap)))
    return sorted(found, key=lambda one: -one[2])


def audit_pair(base: PreparedBody, pair: tuple[int, int], overlap: float, ends: tuple[Ends, Ends]) -> PairAudit | None:
    """Audit a pair at the worst of its ends; None where it has no fault that neither morph has alone.

    Args:
        base: The body.
        pair: The two morphs.
        overlap: How much skin they move together, m³.
        ends: Tangles at the ends of either morph.
    """
    first, second = pair
    body = base.body
    worst: PairAudit | None = None
    for weights in product(*ends):
        deltas = weights[0] * body.deltas[first] + weights[1] * body.deltas[second]
        known = (base.tangle, ends[0][weights[0]], ends[1][weights[1]])
        new = tangle_of(base.tree, body.vertices + deltas).beyond(*known)
        name = body.morph_names[second]
        findings = find.ranked(
            [find.tangle(base, fault, new, weights[0], deltas, known, partner=name) for fault in find.TANGLES]
        )
        if findings:
            one = PairAudit((body.morph_names[first], name), weights, overlap, findings)
            worst = one if worst is None else max(worst, one, key=pair_badness)
    return worst
