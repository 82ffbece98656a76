"""Judging what a check found by the rules of a shop."""

from collections.abc import Mapping, Sequence
from datetime import date

from dressform.calls import called
from dressform.formats.gate.judged import GateVerdict, JudgedFault, JudgedGarment, severe
from dressform.formats.gate.rules_file import Excuse, Rules
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.garment_line import FaultLine, GarmentLine


@called("judge_gate")
def judge_gate(
    lines: Sequence[GarmentLine],
    *,
    body: str,
    files: Mapping[str, str],
    failed: Sequence[FailedGarment] = (),
    rules: Rules,
    today: date,
    seconds: float = 0.0,
) -> GateVerdict:
    """Judge garments by rules: what counts, what is excused, and which excuses have run out.

    An excuse holds until the end of its last day. After it the fault counts again, and the verdict says so.

    Args:
        lines: What was found, the worst first.
        body: Name of the body.
        files: File of each garment, by name.
        failed: Garments of which nothing is known.
        rules: The rules.
        today: The day.
        seconds: What the check took.

    Proof: tests/jobs/gate/test_judge.py
    """
    met: set[Excuse] = set()
    judged = tuple(_judged(line, files.get(line.name, ""), rules, today, met) for line in lines)
    expired = tuple(one for one in rules.excuses if one in met and one.until < today)
    idle = tuple(one for one in rules.excuses if one not in met)
    return GateVerdict(body, rules.fail_on, judged, tuple(failed), expired, idle, seconds)


def _judged(line: GarmentLine, file: str, rules: Rules, today: date, met: set[Excuse]) -> JudgedGarment:
    counted, excused = list[JudgedFault](), list[JudgedFault]()
    for fault in line.faults:
        if severe(fault.severity, rules.fail_on):
            one = _excused(line.name, fault, rules, today, met)
            (counted if one.excuse is None else excused).append(one)
    allowed = rules.tucks_allowed(line.name)
    over = 0.0 if allowed is None else max(0.0, line.tucked_cm2 - allowed)
    return JudgedGarment(line, file, tuple(counted), tuple(excused), over)


def _excused(garment: str, fault: FaultLine, rules: Rules, today: date, met: set[Excuse]) -> JudgedFault:
    meeting = [one for one in rules.excuses if one.meets(garment, fault.fault, fault.stance)]
    met.update(meeting)
    valid = next((one for one in meeting if one.until >= today), None)
    expired = None if valid is not None or not meeting else max(meeting, key=lambda one: one.until)
    return JudgedFault(fault, valid, expired)
