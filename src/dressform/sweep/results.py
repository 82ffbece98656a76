"""Results of a sweep: one row per garment and shape, and the worst rows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from dressform.arrays import Weights
from dressform.body.stance import Stance
from dressform.faults.registry import FAULTS
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import graded_values


@dataclass(frozen=True)
class SweepRow:
    """One garment on one shape.

    Attributes:
        garment: Key of the garment's fit, as it was given.
        label: Label of the shape.
        weights: The shape, (K,).
        faults: The measured faults.
        seconds: Time that measuring took.
        kept: Whether the row came from a store instead of being measured.
        stance: How the body stood; None at rest.
    """

    garment: str
    label: str
    weights: Weights
    faults: ShapeFaults
    seconds: float
    kept: bool
    stance: Stance | None = None

    def stood(self, poses: Mapping[str, Stance]) -> Stance | None:
        """How the body stood: as the row says or, where it does not, the stance of its pose; None at rest."""
        return self.stance if self.stance is not None else poses.get(self.faults.stance)

    @property
    def values(self) -> Mapping[str, float]:
        """The one number that each fault is judged by, in the unit of its band."""
        return graded_values(self.faults)


@dataclass(frozen=True)
class SweepResult:
    """All rows of a sweep.

    Attributes:
        rows: Garment by garment in the order given, shape by shape in the order given.
        prepare_seconds: What a check prepared once per garment before its first shape; 0 where all rows were kept.
        seconds: Wall-clock time of the whole sweep.
        failed: Why garments that have no rows cannot be measured, by key.
    """

    rows: tuple[SweepRow, ...]
    prepare_seconds: Mapping[str, float]
    seconds: float
    failed: Mapping[str, str] = field(default_factory=dict)

    def of(self, garment: str) -> tuple[SweepRow, ...]:
        """Rows of one garment."""
        return tuple(row for row in self.rows if row.garment == garment)

    def with_rows(self, rows: Sequence[SweepRow]) -> "SweepResult":
        """The same with more rows of its garments, each after the others of its garment."""
        garments = dict.fromkeys(row.garment for row in self.rows)
        mixed = (*self.rows, *rows)
        return replace(self, rows=tuple(row for garment in garments for row in mixed if row.garment == garment))

    def worst(self) -> dict[str, dict[str, SweepRow]]:
        """For each garment and each of `FAULTS`, the row with the largest value; the first where several are equal."""
        garments = dict.fromkeys(row.garment for row in self.rows)
        return {
            garment: {fault: max(self.of(garment), key=lambda row: row.values[fault]) for fault in FAULTS}
            for garment in garments
        }
