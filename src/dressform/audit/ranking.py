"""What is worse: morphs by their findings, pairs by theirs."""

from dressform.audit.results import Finding, MorphAudit, PairAudit
from dressform.faults.results import SEVERITIES


def morph_badness(one: MorphAudit) -> tuple[int, int, float]:
    """Sorts morphs: the worst severity, all severities together, how much is moved."""
    return (*_levels(one.findings), one.moved_area * one.move_max)


def pair_badness(one: PairAudit) -> tuple[int, int, float]:
    """Sorts pairs: the worst severity, all severities together, how much breaks."""
    return (*_levels(one.findings), sum(finding.value for finding in one.findings))


def _levels(findings: tuple[Finding, ...]) -> tuple[int, int]:
    levels = [SEVERITIES.index(finding.severity) for finding in findings]
    return max(levels, default=0), sum(levels)
