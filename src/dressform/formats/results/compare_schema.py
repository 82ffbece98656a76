"""What a comparison found, as records, in the units that people read: mm, cm², per cent, ms."""

from typing import Annotated, Literal

from msgspec import Meta

from dressform.faults.results import Severity
from dressform.formats.results.record import Count, NonNegative, Record

COMPARISON_SCHEMA = "dressform-comparison/1"
CompareVerdict = Literal["better", "worse", "no difference"]


class ComparedGarment(Record, frozen=True):
    """One measure of one garment on both sides, at its worst over the shapes that both sides were measured on.

    Attributes:
        garment: Name of the garment.
        measure: Key of the measure: of a fault, or `setup`.
        before: Worst value on the first side, in the `unit` of the measure.
        after: Worst value on the second side.
        change: `after` minus `before`; negative is better.
        severity_before: How bad `before` is; empty where it is not graded.
        severity_after: How bad `after` is.
        mean_change: Mean over the shapes of the change at each.
        shape: The shape at which both sides differ most.
        stance: Its stance; empty at rest.
        weights: Its weights that are not 0.
        graver: Whether it got graver by more than the tolerance.
        eased: Whether it became less grave by more than the tolerance.
    """

    garment: str
    measure: str
    before: float
    after: float
    change: float
    severity_before: Severity
    severity_after: Severity
    mean_change: float
    shape: str
    stance: str
    weights: dict[str, float]
    graver: bool
    eased: bool


class ComparedMeasure(Record, frozen=True):
    """One measure over the whole wardrobe.

    Attributes:
        measure: Key of the measure.
        words: Its name for people.
        unit: Unit of its values; empty for a pure number.
        garments: Garments that both sides have it of.
        before: Mean over the garments of the worst value on the first side.
        after: The same on the second side.
        change: Mean paired change; negative is better.
        low: Lower end of its 95 % interval; null for a single garment.
        high: Upper end of its 95 % interval.
        better: Garments of which it became less by more than what counts.
        worse: Garments of which it became more by more than what counts.
        verdict: `better` or `worse` where the interval leaves out 0, or what a single garment shows.
        counts_from: Changes up to this count for nothing.
    """

    measure: str
    words: str
    unit: str
    garments: Count
    before: float
    after: float
    change: float
    low: float | None
    high: float | None
    better: Count
    worse: Count
    verdict: CompareVerdict
    counts_from: NonNegative


class ComparedPlace(Record, frozen=True):
    """A place with a fault that is moderate or grave on one side alone.

    Attributes:
        garment: Name of the garment.
        fault: Which fault.
        part: Part of the garment.
        region: Region of the body.
        side: Side, as in a place.
        severity: How bad it is there at its worst.
        value: Worst value, in `unit`.
        unit: Unit of `value`.
        shape: Shape of the worst value.
        stance: Its stance; empty at rest.
    """

    garment: str
    fault: str
    part: str
    region: str
    side: str
    severity: Severity
    value: float
    unit: str
    shape: str
    stance: str


class UnpairedRows(Record, frozen=True):
    """Rows of one garment that one side alone has: they count for nothing.

    Attributes:
        garment: Name of the garment.
        both: Rows that both sides have.
        first: Shape, and stance where there is one, of the rows that only the first side has: what was lost.
        second: The same of the second side.
    """

    garment: str
    both: Count
    first: tuple[str, ...]
    second: tuple[str, ...]


class StoredComparison(Record, frozen=True):
    """Two sides over the same garments, shapes and stances.

    Attributes:
        first: Name of the side that is compared with.
        second: Name of the side that is judged.
        versions: For each of both what it was computed with.
        differing: Settings in which both sides differ, by name, with both values.
        body: Name of the body.
        body_sha256: Hash of its file; empty where it has none.
        tolerance: Share by which a value may grow before it is graver.
        limits: By measure, by how much it may grow instead, in its unit.
        rows: Shapes and stances of all garments that both sides were measured on.
        unpaired_first: Rows of the first side alone, which count for nothing.
        unpaired_second: Rows of the second side alone.
        unpaired: The same by garment, with their shapes.
        paired: Garments of the second side by those of the first that they were compared with, of other names.
        missing: Garments that one side alone has, with the side.
        measures: Over the wardrobe, one per measure.
        garments: One per garment and measure that differs or is a fault, what got graver first, then by size.
        new: Places with a moderate or grave fault on the second side alone, the gravest first.
        gone: Places with a moderate or grave fault on the first side alone.
    """

    first: str
    second: str
    versions: tuple[dict[str, str], dict[str, str]]
    differing: dict[str, tuple[str, str]]
    body: str
    body_sha256: str
    tolerance: NonNegative
    limits: dict[str, NonNegative]
    rows: Count
    unpaired_first: Count
    unpaired_second: Count
    unpaired: tuple[UnpairedRows, ...]
    paired: dict[str, str]
    missing: dict[str, str]
    measures: tuple[ComparedMeasure, ...]
    garments: tuple[ComparedGarment, ...]
    new: tuple[ComparedPlace, ...]
    gone: tuple[ComparedPlace, ...]

    @property
    def lost(self) -> tuple[str, ...]:
        """Garments that only the first side has: on the second nothing is known of them."""
        return tuple(name for name, side in self.missing.items() if side == self.first)

    @property
    def losses(self) -> tuple[ComparedGarment, ...]:
        """What got graver, the largest first."""
        return tuple(one for one in self.garments if one.graver)

    @property
    def gains(self) -> tuple[ComparedGarment, ...]:
        """What became less grave, the largest first."""
        return tuple(one for one in self.garments if one.eased)


class StoredComparisons(Record, frozen=True, tag_field="schema", tag=COMPARISON_SCHEMA):
    """What one run of `dressform compare` found.

    Attributes:
        schema: Name and version of this format.
        made: When it was made, ISO 8601.
        sides: Names of the sides; each but the first is compared with the first.
        pairs: One comparison for each side but the first.
    """

    made: str
    sides: tuple[str, ...]
    pairs: Annotated[tuple[StoredComparison, ...], Meta(min_length=1)]

    @property
    def is_graver(self) -> bool:
        """Whether anything got graver, or a garment was lost, on any side."""
        return any(pair.losses or pair.lost for pair in self.pairs)
