"""Charts over the range, as the page is told of them."""

from dressform.faults.results import FaultName
from dressform.formats.results.record import Record


class SliderCurve(Record, frozen=True):
    """Faults along one slider, all others at the base.

    Attributes:
        at: Weights of the slider, rising.
        values: By fault, one value per weight, in the unit of the fault.
    """

    at: tuple[float, ...]
    values: dict[FaultName, tuple[float, ...]]


class ClearanceChart(Record, frozen=True):
    """Shares of the cloth's area by its clearance.

    Attributes:
        edges: Bounds of the bins, mm; one more than there are bins.
        base: As modelled.
        before: At the worst shape.
        after: There after a repair; null where nothing was repaired.
    """

    edges: tuple[float, ...]
    base: tuple[float, ...]
    before: tuple[float, ...]
    after: tuple[float, ...] | None


class PairsChart(Record, frozen=True):
    """One fault with two sliders away from the base, the worst that was measured of each pair.

    Attributes:
        fault: Which fault.
        unit: Unit of the values.
        values: By slider and slider, one alone on the diagonal; null where nothing was measured.
        weights: Weights of the two there.
    """

    fault: FaultName
    unit: str
    values: tuple[tuple[float | None, ...], ...]
    weights: tuple[tuple[tuple[float, float] | None, ...], ...]


class GarmentCharts(Record, frozen=True):
    """The charts of one garment.

    Attributes:
        weights: Faults along each slider, by its name.
        clearance: How far from the skin the cloth lies; null where it was not measured.
        pairs: One fault with two sliders at once.
    """

    weights: dict[str, SliderCurve]
    clearance: ClearanceChart | None
    pairs: PairsChart
