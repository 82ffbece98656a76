"""Percentiles by area, which do not depend on how fine the mesh is."""

from collections.abc import Sequence

import numpy as np
from jaxtyping import Float


def percentiles(
    values: Float[np.ndarray, " N"], areas: Float[np.ndarray, " N"], levels: Sequence[float]
) -> tuple[float, ...]:
    """Values below which the given percentages of the area lie, linear between the middles of the samples.

    With equal areas p50 is the median. 0 for every level where there is no area.

    Args:
        values: One per sample, (N,).
        areas: Non-negative, (N,).
        levels: Percentages, 0 to 100.

    Source: common practice, no source. Proof: tests/faults/test_percentiles.py
    """
    order = np.argsort(values)
    order = order[areas[order] > 0]
    if not order.size:
        return tuple(0.0 for _ in levels)
    weights = areas[order]
    middles = np.cumsum(weights) - 0.5 * weights
    return tuple(float(value) for value in np.interp(np.array(levels) / 100.0 * weights.sum(), middles, values[order]))


def reached(values: Float[np.ndarray, " N"], areas: Float[np.ndarray, " N"], area: float) -> float:
    """The value that so much of the area, m², reaches or exceeds; of less area than that the least, 0 of none.

    Linear between the middles of the samples, so that it does not depend on how fine the mesh is.

    Args:
        values: One per sample, (N,).
        areas: Non-negative, m², (N,).
        area: m².

    Proof: tests/faults/test_percentiles.py::test_the_value_that_an_area_reaches_does_not_depend_on_the_mesh
    """
    order = np.argsort(-values)
    order = order[areas[order] > 0]
    if not order.size:
        return 0.0
    middles = np.cumsum(areas[order]) - 0.5 * areas[order]
    return float(np.interp(area, middles, values[order]))
