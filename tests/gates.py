"""Garments as a check found them, made up for the gate."""

from datetime import date

from dressform.faults.results import SEVERITIES
from dressform.formats.gate.judged import GateVerdict
from dressform.formats.gate.rules_file import Excuse, Rules
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.garment_line import FaultLine, GarmentLine
from dressform.jobs.gate.judge import judge_gate

TODAY = date(2026, 11, 30)


def fault(name: str = "pucker", severity: str = "moderate", *, stance: str = "", value: float = 210.0) -> FaultLine:
    return FaultLine(fault=name, severity=severity, value=value, unit="‱", shape="belly=1", stance=stance)


def line(name: str, *faults: FaultLine, tucked: float = 0.0) -> GarmentLine:
    severity = max((one.severity for one in faults), key=SEVERITIES.index, default=SEVERITIES[0])
    return GarmentLine(
        name=name, method="smooth", severity=severity, badness=(1.0,), faults=faults, tucked_cm2=tucked,
        tucked_at=("waist",) if tucked else (), actions=("at the hem: add edge loops (its maker)",) if faults else (),
        vertices=100,
    )  # fmt: skip


def excuse(until: date, *, garment: str = "oil*", name: str = "pucker", stances: tuple[str, ...] = ()) -> Excuse:
    return Excuse(garment, name, stances, "old stock", until)


def verdict(*lines: GarmentLine, rules: Rules | None = None, failed: tuple[FailedGarment, ...] = ()) -> GateVerdict:
    files = {one.name: f"wardrobe/{one.name}.glb" for one in lines}
    return judge_gate(
        lines, body="keeper", files=files, failed=failed, rules=rules or Rules(), today=TODAY, seconds=2.0
    )
