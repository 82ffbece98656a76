"""Results of an audit of a body: figures and findings per morph and per pair of morphs, as frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Int

from dressform.faults.results import SEVERITIES, Place

BODY_FAULTS = (
    "rigid_patch",
    "crossing",
    "folded",
    "stray",
    "behind",
    "islands",
    "lopsided",
    "rough",
    "extremity",
)
"""Every fault that a morph of a body can have, in the order in which reports list them."""

BOTH, LEFT, RIGHT, OPPOSITE, LOPSIDED, UNKNOWN = "both", "left", "right", "opposite", "lopsided", "unknown"
SIDES = (BOTH, LEFT, RIGHT, OPPOSITE, LOPSIDED, UNKNOWN)
"""How a morph treats the two sides: alike, left only, right only, in opposite directions, differently, unknown."""


@dataclass(frozen=True)
class Spot:
    """A connected spot of the body.

    Attributes:
        place: Where it is, at the base; its finding names the fault.
        vertices: Its vertices, (N,).
    """

    place: Place
    vertices: Int[np.ndarray, " N"]


@dataclass(frozen=True)
class Finding:
    """One fault of a morph, or of a pair of morphs.

    Attributes:
        fault: One of `BODY_FAULTS`.
        severity: One of `SEVERITIES`, never the first.
        value: How much, in the unit of its band in `AuditBands`.
        weight: Weight of the morph at which it was found; for a pair, the weight of the first.
        spots: Where it was found, the worst first; at least one.
        partner: The other morph involved, or empty.
        figures: Further figures used in its sentence, by name, in metres or m²; counts and shares have no unit.
    """

    fault: str
    severity: str
    value: float
    weight: float
    spots: tuple[Spot, ...]
    partner: str
    figures: Mapping[str, float]


@dataclass(frozen=True)
class MorphAudit:
    """One morph at the ends of its interval.

    Attributes:
        name: The morph.
        low: Smallest weight that a wearer may reach.
        high: Largest.
        weight: The end that lies farther from 0. The figures below hold there.
        moved_area: Area that moves by more than a twentieth of the farthest move, m².
        move_max: Farthest move, metres.
        move_p95: 95th percentile by area of the moves of that area, metres.
        roughness: 99th percentile by area of the pucker index of the moved skin, without skin that other findings
            explain.
        folded: Triangles that are turned over at either end and not at the base, the worse end.
        crossing: Pairs of triangles that cross at either end and not at the base, the worse end.
        patch_share: Share of the moved area that lies in rigid patches.
        sides: One of `SIDES`.
        asymmetry: 0 where left and right move as mirror images, 1 where one side stays still, √2 where they oppose.
        partner: The morph that does the same on the other side, or empty.
        findings: Its faults, the gravest first.
    """

    name: str
    low: float
    high: float
    weight: float
    moved_area: float
    move_max: float
    move_p95: float
    roughness: float
    folded: int
    crossing: int
    patch_share: float
    sides: str
    asymmetry: float
    partner: str
    findings: tuple[Finding, ...]

    @property
    def severity(self) -> str:
        """The worst severity of its findings."""
        return worst_severity(self.findings)


@dataclass(frozen=True)
class PairAudit:
    """Two morphs that together cause a fault that neither causes alone.

    Attributes:
        names: The morphs.
        weights: Their weights.
        overlap: How much skin both move, m³: area times the shorter of the two moves.
        findings: Their faults, the gravest first; at least one.
    """

    names: tuple[str, str]
    weights: tuple[float, float]
    overlap: float
    findings: tuple[Finding, ...]

    @property
    def severity(self) -> str:
        """The worst severity of its findings."""
        return worst_severity(self.findings)


@dataclass(frozen=True)
class BodyAudit:
    """The audit of a body, morph by morph.

    Attributes:
        morphs: One per morph, the worst first.
        pairs: Pairs that break together, the worst first.
        pairs_looked_at: How many pairs were checked at their ends.
        pairs_that_overlap: How many pairs move some skin together.
        base_crossing: Pairs of triangles that cross at the base already; not counted as faults of a morph.
        base_folded: Triangles turned over at the base.
        mirror_gap: 95th percentile by area of the distance from a mirrored point to the base body, metres.
    """

    morphs: tuple[MorphAudit, ...]
    pairs: tuple[PairAudit, ...]
    pairs_looked_at: int
    pairs_that_overlap: int
    base_crossing: int
    base_folded: int
    mirror_gap: float

    @property
    def severity(self) -> str:
        """The worst severity of all morphs and pairs."""
        found = [one.severity for one in self.morphs] + [one.severity for one in self.pairs]
        return max(found, key=SEVERITIES.index, default=SEVERITIES[0])


def worst_severity(findings: tuple[Finding, ...]) -> str:
    """The worst severity of some findings; clean where there are none."""
    return max((one.severity for one in findings), key=SEVERITIES.index, default=SEVERITIES[0])
