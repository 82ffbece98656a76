"""What is compared: every graded fault, and the time that fitting takes."""

from collections.abc import Callable
from dataclasses import dataclass

from dressform.faults.graded.pucker import PER_TEN_THOUSAND
from dressform.faults.registry import FAULT_OF
from dressform.formats.results.check_schema import StoredGarment
from dressform.formats.results.shape_schema import StoredShape
from dressform.units import PERCENT


@dataclass(frozen=True)
class CompareMeasure:
    """One measure.

    Attributes:
        key: Key of the fault that grades it; `SETUP` for the time.
        words: Its name for people.
        unit: Unit of its values.
        counts_from: Changes up to this count for nothing, in `unit`. Common practice, no source.
        value: Its value on one shape of a garment; None where it cannot be told.
    """

    key: str
    words: str
    unit: str
    counts_from: float
    value: Callable[[StoredGarment, StoredShape], float | None]


SETUP = "setup"


def _pucker(_: StoredGarment, shape: StoredShape) -> float | None:
    graded = shape.pucker.patch if shape.pucker.patch is not None else shape.pucker.p95
    return None if graded is None else graded * PER_TEN_THOUSAND


def _clearance(_: StoredGarment, shape: StoredShape) -> float:
    return max(abs(shape.clearance_change.p5_mm), abs(shape.clearance_change.p95_mm))


def _fault(key: str, counts_from: float, value: Callable[[StoredGarment, StoredShape], float | None]) -> CompareMeasure:
    return CompareMeasure(key, FAULT_OF[key].words, FAULT_OF[key].unit, counts_from, value)


MEASURES = (
    _fault("in_front", 1.0, lambda garment, _: garment.at_base.skin_cm2),
    _fault("exposed", 1.0, lambda _, shape: shape.show_through.exposed_cm2),
    _fault("depth", 0.5, lambda _, shape: shape.show_through.depth_max_mm),
    _fault("pucker", 5.0, _pucker),
    _fault("bent", 1.0, lambda _, shape: shape.broken.bent_degrees),
    _fault("stretch", 1.0, lambda _, shape: shape.stretch.relative_log_p99 * PERCENT),
    _fault("clearance", 0.5, _clearance),
    _fault("crossing", 0.5, lambda _, shape: shape.broken.cut_cm2),
    _fault("sunk", 0.1, lambda garment, _: garment.at_base.inside_percent),
    _fault("inside", 0.1, lambda _, shape: shape.show_through.inside_percent),
    _fault("folded", 0.1, lambda _, shape: shape.broken.folded_cm2),
    _fault("seam", 0.2, lambda _, shape: shape.broken.seam_opening_mm),
    _fault("hard", 0.2, lambda _, shape: shape.broken.hard_bend_mm),
    _fault("layers", 0.2, lambda _, shape: shape.broken.swapped_cm2),
    _fault("pierced", 0.5, lambda _, shape: shape.broken.pierced_cm2),
    CompareMeasure(SETUP, "time to fit", "ms", 5.0, lambda garment, _: garment.setup_ms),
)
