"""Numbers behind the charts of the page: faults along each slider, clearance as a distribution, pairs of sliders."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.range import Range
from dressform.body.shapes import SAME_WEIGHT, Shape, distinct, label_of, shape_at_base
from dressform.faults.registry import FAULTS
from dressform.faults.results import SEVERITIES, ShapeFaults
from dressform.faults.severity import graded_values
from dressform.faults.words import reading_of
from dressform.formats.results.page.charts import ClearanceChart, GarmentCharts, PairsChart, SliderCurve
from dressform.report.pictures.faults import gravest_fault

SLIDER_POINTS = 5
"""Weights of a slider at which faults are measured, ends included; the base comes on top."""
LOWEST, MIN_TOP, HIGHEST = -10.0, 40.0, 200.0
"""Where the bins of clearance begin, and between which values they end, mm; what lies beyond counts in the last."""
BIN_WIDTHS = (2.0, 5.0, 10.0)
MAX_BINS = 30
REACHED = 98.0
"""Percentile of the clearance up to which bins reach."""


@dataclass(frozen=True)
class Spread:
    """How far from the skin the cloth of one garment lies on one shape.

    Attributes:
        clearance: Of every cloth vertex, mm, (G,).
        areas: Cloth around each vertex at the base, (G,), m².
    """

    clearance: Float[np.ndarray, " G"]
    areas: Float[np.ndarray, " G"]


@dataclass(frozen=True)
class Clearances:
    """What the chart of clearance compares.

    Attributes:
        base: at the base, as modelled.
        worst: On the garment's worst shape, as it follows.
        repaired: On the same shape after a repair, or None where nothing was repaired.
    """

    base: Spread
    worst: Spread
    repaired: Spread | None = None


def fault_values(faults: ShapeFaults) -> dict[str, float]:
    """The graded number of each fault, in the unit that people read."""
    found = graded_values(faults)
    return {fault: reading_of(fault, value)[0] for fault, value in found.items()}


def missing_slider_shapes(box: Range, measured: Iterable[Weights], *, points: int = SLIDER_POINTS) -> list[Shape]:
    """Shapes along each slider that a chart needs and that were not measured yet."""
    start = shape_at_base(box)
    wanted = [start]
    for slider, (low, high) in enumerate(zip(box.low, box.high)):
        for weight in np.linspace(low, high, points):
            weights = start.weights.copy()
            weights[slider] = weight
            wanted.append(Shape(label_of(box, weights), weights))
    known = distinct(Shape("", weights) for weights in measured)
    return distinct([*known, *wanted])[len(known) :]


def garment_charts(
    box: Range, shapes: Sequence[ShapeFaults], *, worst: ShapeFaults, clearances: Clearances | None = None
) -> GarmentCharts:
    """All charts of one garment.

    Args:
        box: The range.
        shapes: What was measured, at least the base body.
        worst: The garment's worst shape.
        clearances: Clearance of its vertices, or None.
    """
    return GarmentCharts(
        weights=along_sliders(box, shapes),
        clearance=None if clearances is None else clearance_shares(clearances),
        pairs=pair_values(box, shapes, gravest_fault(worst)),
    )


def along_sliders(box: Range, shapes: Sequence[ShapeFaults]) -> dict[str, SliderCurve]:
    """Per slider the values of every fault that occurs anywhere, with all other sliders at the base."""
    occurring = [
        fault for fault in FAULTS if any(one.severities.get(fault, SEVERITIES[0]) != SEVERITIES[0] for one in shapes)
    ]
    start = shape_at_base(box).weights
    charts = {}
    for slider, name in enumerate(box.names):
        alone = sorted(
            (one for one in shapes if set(_moved(one.weights, start)) <= {slider}), key=lambda one: one.weights[slider]
        )
        values = [fault_values(one) for one in alone]
        charts[name] = SliderCurve(
            at=tuple(float(one.weights[slider]) for one in alone),
            values={fault: tuple(each[fault] for each in values) for fault in occurring},
        )
    return charts


def clearance_shares(clearances: Clearances) -> ClearanceChart:
    """Shares of the cloth's area by clearance: as modelled, at the worst shape before and after a repair."""
    shown = [one for one in (clearances.base, clearances.worst, clearances.repaired) if one is not None]
    edges = clearance_edges(max(float(np.percentile(one.clearance, REACHED)) for one in shown))
    repaired = clearances.repaired
    return ClearanceChart(
        edges=tuple(float(edge) for edge in edges),
        base=_shares(clearances.base, edges),
        before=_shares(clearances.worst, edges),
        after=None if repaired is None else _shares(repaired, edges),
    )


def clearance_edges(reach: float) -> Float[np.ndarray, " E"]:
    """Bounds of bins of an even width that hold clearances up to `reach`, mm; 0 is one of them."""
    top = float(np.clip(reach, MIN_TOP, HIGHEST))
    width = next(each for each in BIN_WIDTHS if (top - LOWEST) / each <= MAX_BINS)
    return np.arange(LOWEST, top + width, width)


def pair_values(box: Range, shapes: Sequence[ShapeFaults], fault: str) -> PairsChart:
    """One fault with two sliders away from the base: for each pair the worst shape measured; None where there is none.

    The diagonal is one slider alone.
    """
    start, count = shape_at_base(box).weights, len(box.names)
    values: list[list[float | None]] = [[None] * count for _ in range(count)]
    weights: list[list[tuple[float, float] | None]] = [[None] * count for _ in range(count)]
    for one in shapes:
        moved = _moved(one.weights, start)
        if len(moved) not in (1, 2):
            continue
        value, first, second = fault_values(one)[fault], moved[0], moved[-1]
        known = values[first][second]
        if known is None or value > known:
            for row, column in ((first, second), (second, first)):
                values[row][column] = value
                weights[row][column] = (float(one.weights[row]), float(one.weights[column]))
    return PairsChart(
        fault=fault,
        unit=reading_of(fault, 0.0)[1],
        values=tuple(tuple(row) for row in values),
        weights=tuple(tuple(row) for row in weights),
    )


def _shares(spread: Spread, edges: Float[np.ndarray, " E"]) -> tuple[float, ...]:
    """Share of the area in each bin of clearance."""
    inside = np.clip(spread.clearance, edges[0], edges[-1])
    areas = np.histogram(inside, edges, weights=spread.areas)[0]
    return tuple(float(area) for area in areas / max(float(spread.areas.sum()), np.finfo(float).tiny))


def _moved(weights: Weights, start: Weights) -> list[int]:
    """Sliders that are not where the base body has them."""
    return [int(slider) for slider in np.flatnonzero(np.abs(weights - start) > SAME_WEIGHT)]
