"""What a check found."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from dressform.body.shapes import ShapeSettings
from dressform.body.stance import Stance
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import Causes
from dressform.faults.severity import Bands
from dressform.faults.wardrobe import Wardrobe
from dressform.fit.fit import Fit
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.failed import FailedGarment
from dressform.jobs.check_report import make_check_report
from dressform.report.tables.printing import print_report
from dressform.report.tables.text import printed_text
from dressform.sweep.results import SweepResult
from dressform.units import counted


@dataclass(frozen=True, eq=False, repr=False)
class CheckResult:
    """What a check found; `print` shows the table that a person reads.

    Attributes:
        fits: The garments that were checked, by key.
        swept: Every fault of every garment at every shape.
        causes: Why each fault is there and what to change; None where causes were not sought.
        shapes: Which shapes were looked at, beside the base and the worst.
        bands: From which value on a fault is slight, moderate, grave.
        workers: Processes that measured.
        made: When it ended, ISO 8601.
        seconds: What it took.
        wardrobe: The garments on their body, as far as they are prepared.
        under: For each key the keys of the garments worn under it.
        setup_seconds: What each fit took, by key, as far as known.
        failed: Garments of which nothing is known, since they could not be read, fitted or measured.
        stances: Stances at which it measured beside rest.
        notes: What was found out about a garment beside its faults, by key, one sentence each.
    """

    fits: Mapping[str, Fit]
    swept: SweepResult
    causes: Causes | None
    shapes: ShapeSettings
    bands: Bands
    workers: int
    made: str
    seconds: float
    wardrobe: Wardrobe[ExplainedGarment]
    under: Mapping[str, Sequence[str]] = field(default_factory=dict)
    setup_seconds: Mapping[str, float] = field(default_factory=dict)
    failed: tuple[FailedGarment, ...] = ()
    stances: tuple[Stance, ...] = ()
    notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @cached_property
    def report(self) -> CheckReport:
        """The same gathered for files, tables and pages."""
        return make_check_report(
            self.fits,
            self.swept,
            causes=self.causes,
            shapes=self.shapes,
            bands=self.bands,
            workers=self.workers,
            made=self.made,
            seconds=self.seconds,
            setup_seconds=self.setup_seconds,
            under=self.under,
            failed=self.failed,
            notes=self.notes,
        )

    def under_of(self, key: str) -> tuple[Fit, ...]:
        """The garments worn under one, from the skin outward."""
        return tuple(self.fits[below] for below in self.under.get(key, ()))

    @property
    def faulty(self) -> bool:
        """Whether a fault is moderate or grave."""
        return self.report.faulty

    @property
    def severity(self) -> Mapping[str, str]:
        """How bad the worst fault of each garment is, by key."""
        return {garment.key: garment.severity for garment in self.report.garments}

    def __str__(self) -> str:
        return printed_text(lambda console: print_report(self.report, console))

    def __repr__(self) -> str:
        found = ", ".join(f"{key}: {severity}" for key, severity in self.severity.items())
        return f"<CheckResult of {counted(len(self.swept.rows), 'row')}; {found}>"
