"""What a list tells of one garment of a wardrobe: a few hundred bytes, whatever was measured."""

from dressform.causes.action import Action
from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES, FaultName, Severity
from dressform.faults.words import figure_words, reading_of
from dressform.formats.results.check_report import CheckReport, GarmentReport
from dressform.formats.results.check_schema import key_of
from dressform.formats.results.record import Record
from dressform.units import CM2_PER_M2, number


class FaultLine(Record, frozen=True):
    """One fault of a garment where it is worst: at rest, or at one stance.

    Attributes:
        fault: Which fault.
        severity: How bad it is there.
        value: How much of it, in `unit`.
        unit: The unit; empty for a count or an index.
        shape: Label of the shape.
        stance: Name of the pose; empty at rest.
    """

    fault: FaultName
    severity: Severity
    value: float
    unit: str
    shape: str
    stance: str = ""

    @property
    def words(self) -> str:
        """`skin shows, 14.7 cm² at belly=1`."""
        known = FAULT_OF[self.fault]
        there = f", {self.stance}" if self.stance else ""
        return f"{known.words}, {figure_words(self.value, self.unit, digits=known.digits)} at {self.shape}{there}"


class GarmentLine(Record, frozen=True):
    """One garment that follows by one method, in short.

    Attributes:
        name: Name of the garment.
        method: Method.
        severity: The worst severity of all.
        badness: Sorts garments: see `GarmentReport.badness`.
        faults: Each fault that is not clean, at rest and at each stance where it is worst; the gravest first.
        tucked_cm2: Cloth that is tucked in at its rims, cm².
        tucked_at: Where, the largest first.
        actions: What to do, the most noticed places first.
        vertices: Count.
    """

    name: str
    method: str
    severity: Severity
    badness: tuple[float, ...]
    faults: tuple[FaultLine, ...]
    tucked_cm2: float
    tucked_at: tuple[str, ...]
    actions: tuple[str, ...]
    vertices: int

    @property
    def key(self) -> str:
        """Tells it from all other lines; see `key_of`."""
        return key_of(self.name, self.method)


def line_of(report: CheckReport, garment: GarmentReport) -> GarmentLine:
    """What a list tells of a garment of a report."""
    base = garment.rows[0].faults.at_base
    return GarmentLine(
        name=garment.name,
        method=garment.method,
        severity=garment.severity,
        badness=garment.badness,
        faults=_fault_lines(garment),
        tucked_cm2=number(base.tucked_area * CM2_PER_M2),
        tucked_at=base.tucked_at,
        actions=tuple(words for one in report.actions(garment) if (words := _action_words(one))),
        vertices=garment.vertices,
    )


def _fault_lines(garment: GarmentReport) -> tuple[FaultLine, ...]:
    found: dict[tuple[str, str], FaultLine] = {}
    for row in garment.worst_first():
        for fault, severity in row.faults.severities.items():
            if severity == SEVERITIES[0]:
                continue
            value, unit = reading_of(fault, FAULT_OF[fault].value(row.faults))
            known = found.get((fault, row.stance))
            if known is None or value > known.value:
                found[fault, row.stance] = FaultLine(
                    fault=fault, severity=severity, value=number(value), unit=unit, shape=row.label, stance=row.stance
                )
    return tuple(sorted(found.values(), key=lambda one: -SEVERITIES.index(one.severity)))


def _action_words(action: Action) -> str:
    """`at the hem, 70 cm above the ground: add edge loops (its maker)`; empty where nothing helps."""
    best = next(iter(action.offered), None)
    return "" if best is None else f"{action.where}: {best.words} ({best.by})"
