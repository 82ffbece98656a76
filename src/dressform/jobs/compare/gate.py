"""When a fault that grows is graver: by a share, or for single faults by so much and no more."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from dressform.calls import likely
from dressform.errors import ArgumentError
from dressform.faults.results import SEVERITIES
from dressform.jobs.compare.measures import MEASURES, SETUP, CompareMeasure

TOLERANCE = 0.05
"""Share by which a value may grow before it is graver, where nothing else is said."""
GATED = {one.key: one for one in MEASURES if one.key != SETUP}
"""Measures that can be graver; time never is."""


@dataclass(frozen=True)
class ReleaseGate:
    """What a comparison lets pass.

    A fault is graver where it grows by more than counts for it and either its grade rises or, graded already, it grows
    by more than the share. A fault with a limit of its own is graver where it grows by more than that, and not else.

    Attributes:
        share: Share by which a graded fault may grow.
        limits: By the key of a fault, by how much it may grow, in the unit of the tables: mm, cm², per cent and so on.

    Raises:
        ArgumentError: a number is negative or none, or there is no such fault; the valid ones are listed.
    """

    share: float = TOLERANCE
    limits: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for key in self.limits:
            refuse_unknown_measure(key)
        for one in (self.share, *self.limits.values()):
            if not one >= 0.0:
                raise ArgumentError.of("compare", "tolerance", "0 or more", f"{one:g}", "Give for instance 0.05")
        object.__setattr__(self, "limits", MappingProxyType(dict(self.limits)))

    def is_graver(self, measure: CompareMeasure, before: float, after: float, severities: tuple[str, str]) -> bool:
        """Whether a measure got graver.

        Proof: tests/jobs/compare/test_gate.py
        """
        if measure.key == SETUP:
            return False
        limit = self.limits.get(measure.key)
        if limit is not None:
            return after - before > limit and severities[1] != SEVERITIES[0]
        if after - before <= measure.counts_from:
            return False
        old, new = (SEVERITIES.index(severity) for severity in severities)
        return new > old or (new == old > 0 and after > (1.0 + self.share) * before)


def refuse_unknown_measure(key: str) -> None:
    """Refuse what is no fault that can be graver.

    Raises:
        ArgumentError: it is unknown; a near name is offered, and the valid ones are listed.
    """
    if key not in GATED:
        raise ArgumentError.of("compare", "tolerance", f"for one of {', '.join(GATED)}", repr(key), likely(key, GATED))
