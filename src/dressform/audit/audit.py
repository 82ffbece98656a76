"""The audit of a body: every morph at the ends of its interval, and pairs of morphs that move the same skin."""

from collections.abc import Callable

from dressform.audit.bands import DEFAULT_AUDIT_BANDS, AuditBands
from dressform.audit.morphs import audit_morph, tangles_at_ends
from dressform.audit.names import DEFAULT_PAIRS
from dressform.audit.pairs import audit_pair, overlaps
from dressform.audit.prepared import PreparedBody
from dressform.audit.ranking import morph_badness, pair_badness
from dressform.audit.results import BodyAudit, MorphAudit, PairAudit
from dressform.audit.tangle import Ends
from dressform.body.body import Body
from dressform.errors import ArgumentError
from dressform.faults.percentiles import percentiles


def audit_body(
    body: Body,
    *,
    pairs: int = DEFAULT_PAIRS,
    bands: AuditBands = DEFAULT_AUDIT_BANDS,
    progress: Callable[[int, int], None] | None = None,
) -> BodyAudit:
    """Check every morph of a body at the ends of its interval, and pairs of morphs at theirs.

    Args:
        body: The body.
        pairs: How many pairs of morphs to look at, those first that move most skin together.
        bands: From which value on something is a finding.
        progress: Called with how much is done and how much there is.

    Raises:
        ArgumentError: `pairs` is negative.

    Proof: tests/audit/test_audit.py: a clean body has no findings, a body with one inserted fault has that one.
    """
    if pairs < 0:
        raise ArgumentError.of("audit_body", "pairs", "0 or more", pairs, "Say how many pairs to look at")
    base = PreparedBody.of(body, bands)
    overlapping = overlaps(base)
    chosen = overlapping[:pairs]
    total = len(body.morph_names) + len(chosen)
    ends: list[Ends] = []
    morphs: list[MorphAudit] = []
    together: list[PairAudit | None] = []
    for morph in range(len(body.morph_names)):
        ends.append(tangles_at_ends(base, morph))
        morphs.append(audit_morph(base, morph, ends[morph]))
        _tell(progress, len(morphs), total)
    for first, second, overlap in chosen:
        together.append(audit_pair(base, (first, second), overlap, (ends[first], ends[second])))
        _tell(progress, len(morphs) + len(together), total)
    (gap,) = percentiles(base.mirror.gaps, base.skin.areas, (95.0,))
    return BodyAudit(
        morphs=tuple(sorted(morphs, key=morph_badness, reverse=True)),
        pairs=tuple(sorted((one for one in together if one is not None), key=pair_badness, reverse=True)),
        pairs_looked_at=len(chosen),
        pairs_that_overlap=len(overlapping),
        base_crossing=len(base.tangle.crossing),
        base_folded=base.tangle.count("folded"),
        mirror_gap=gap,
    )


def _tell(progress: Callable[[int, int], None] | None, done: int, total: int) -> None:
    if progress is not None:
        progress(done, total)
