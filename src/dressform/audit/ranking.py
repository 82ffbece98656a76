"""Sort keys that rank morphs and pairs by how bad their findings are."""

from dressform.audit.results import Finding, MorphAudit, PairAudit
from dressform.faults.results import SEVERITIES


def morph_badness(one: MorphAudit) -> tuple[int, int, float]:
    """Sort key of a morph: the worst severity, the sum of all severities, how much is moved."""
    return (*_levels(one.findings), one.moved_area * one.move_max)


def pair_badness(one: PairAudit) -> tuple[int, int, float]:
    """Sort key of a pair: the worst severity, the sum of all severities, how much breaks."""
    return (*_levels(one.findings), sum(finding.value for finding in one.findings))


def _levels(findings: tuple[Finding, ...]) -> tuple[int, int]:
    levels = [SEVERITIES.index(finding.severity) for finding in findings]
    return max(levels, default=0), sum(levels)
