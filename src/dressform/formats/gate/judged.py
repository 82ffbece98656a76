"""What a gate says of garments."""

from collections.abc import Sequence
from dataclasses import dataclass

from dressform.faults.results import SEVERITIES
from dressform.formats.gate.rules_file import Excuse
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.garment_line import FaultLine, GarmentLine
from dressform.units import counted


@dataclass(frozen=True)
class JudgedFault:
    """A fault of a garment, and whether it counts.

    Attributes:
        fault: The fault.
        excuse: Why it does not count; None where it does.
        expired: An excuse that met it until it ran out.
    """

    fault: FaultLine
    excuse: Excuse | None = None
    expired: Excuse | None = None


@dataclass(frozen=True)
class JudgedGarment:
    """A garment by the rules.

    Attributes:
        line: What was found.
        file: Its file.
        counted: Faults for which it fails, the gravest first.
        excused: Faults for which it would fail, but for an excuse.
        tucked_over_cm2: How much more cloth is tucked in than the rules allow, cm²; 0 where none is.
    """

    line: GarmentLine
    file: str
    counted: tuple[JudgedFault, ...]
    excused: tuple[JudgedFault, ...]
    tucked_over_cm2: float = 0.0

    @property
    def fails(self) -> bool:
        """Whether it is not accepted."""
        return bool(self.counted) or self.tucked_over_cm2 > 0

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why it is not accepted, the gravest first."""
        told = [f"{one.fault.severity}: {one.fault.words}{_expiry(one)}" for one in self.counted]
        if self.tucked_over_cm2 > 0:
            at = f" at {', '.join(self.line.tucked_at)}" if self.line.tucked_at else ""
            allowed = self.line.tucked_cm2 - self.tucked_over_cm2
            told.append(f"tucked in: {self.line.tucked_cm2:.0f} cm²{at}, {allowed:.0f} allowed")
        return tuple(told)


@dataclass(frozen=True)
class GateVerdict:
    """What a gate says.

    Attributes:
        body: Name of the body.
        fail_on: From which severity on a garment fails.
        garments: Every garment and method, the worst first.
        failed: Garments of which nothing is known; they are never accepted.
        expired: Excuses that have run out and meet a fault.
        idle: Excuses that meet no fault for which a garment would fail.
        seconds: What the check took.
    """

    body: str
    fail_on: str
    garments: tuple[JudgedGarment, ...]
    failed: tuple[FailedGarment, ...]
    expired: tuple[Excuse, ...]
    idle: tuple[Excuse, ...]
    seconds: float

    @property
    def failing(self) -> Sequence[JudgedGarment]:
        """Garments that are not accepted."""
        return [one for one in self.garments if one.fails]

    @property
    def passes(self) -> bool:
        """Whether all is accepted."""
        return not self.failing and not self.failed

    @property
    def sentence(self) -> str:
        """The verdict in one sentence."""
        names = {one.line.name for one in self.garments} | {one.name for one in self.failed}
        failing = {one.line.name for one in self.failing}
        broken = {one.name for one in self.failed} - failing
        excused = {one.line.name for one in self.garments if one.excused} - failing
        accepted = len(names - failing - broken)
        told = [f"{accepted} of {counted(len(names), 'garment')} accepted (nothing {self.fail_on} or worse)"]
        told += [f"{len(excused)} of them excused"] if excused else []
        told += [f"{len(broken)} could not be checked"] if broken else []
        return f"gate {'passed' if self.passes else 'failed'}: {', '.join(told)}"


def severe(severity: str, fail_on: str) -> bool:
    """Whether a severity fails a garment."""
    return SEVERITIES.index(severity) >= SEVERITIES.index(fail_on)


def _expiry(one: JudgedFault) -> str:
    return "" if one.expired is None else f" (its excuse ran out on {one.expired.until.isoformat()})"
