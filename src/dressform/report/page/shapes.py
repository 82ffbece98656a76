"""Shapes that were looked at, each set of weights once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dressform.arrays import Weights
from dressform.body.shapes import SAME_WEIGHT
from dressform.formats.results.check_report import CheckReport, ShapeRow
from dressform.report.tables.check import shape_words


@dataclass(frozen=True)
class PageShape:
    """One set of weights that was checked.

    Attributes:
        label: Name shown to people.
        weights: (K,).
        severity: By garment key, of the garments that were checked there.
    """

    label: str
    weights: Weights
    severity: Mapping[str, str]


def page_shapes(report: CheckReport) -> tuple[PageShape, ...]:
    """Every shape at which any garment was checked, each set of weights once, in the order of the report.

    The worst shapes of two garments share a label and differ in their weights, so equal labels are distinguished by the
    largest weights.
    """
    found: dict[bytes, PageShape] = {}
    taken: dict[str, bytes] = {}
    morphs = tuple(report.body.intervals)
    for garment in report.garments:
        for row in garment.at_rest.rows:
            key = weights_key(row.faults.weights)
            known = found.get(key)
            label = known.label if known else _free_label(row, morphs, taken)
            taken[label] = key
            severity = {**(known.severity if known else {}), garment.key: row.faults.severity}
            found[key] = PageShape(label, row.faults.weights, severity)
    return tuple(found.values())


def weights_key(weights: Weights) -> bytes:
    """A key that is equal for equal shapes, apart from rounding."""
    # Adding 0.0 turns -0.0 into 0.0, which differs from it in its bytes only.
    return (np.round(np.asarray(weights, dtype=np.float64) / SAME_WEIGHT) + 0.0).tobytes()


def shape_index(shapes: Sequence[PageShape], weights: Weights) -> int | None:
    """Which of the shapes has these weights, or None."""
    key = weights_key(weights)
    return next((index for index, shape in enumerate(shapes) if weights_key(shape.weights) == key), None)


def _free_label(row: ShapeRow, morphs: Sequence[str], taken: Mapping[str, bytes]) -> str:
    """The row's label, changed if it is already taken."""
    if row.label not in taken:
        return row.label
    label = words = shape_words(row, morphs)
    count = 2
    while label in taken:
        label, count = f"{words} #{count}", count + 1
    return label
