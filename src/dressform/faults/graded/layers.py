"""Layers swapped: outer cloth that is now under the layer it covered."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.faults.look import Look
from dressform.units import CM2_PER_M2, PERCENT


def _seen(look: Look) -> VertexScalars:
    """1 at cloth that is under a layer it covered, and at the cloth that is seen there instead."""
    marked = np.zeros(len(look.cloth))
    for one in look.swaps:
        marked[one.outer[one.shown > 0]] = 1.0
        marked[one.covering] = 1.0
    return marked


LAYERS = Fault(
    key="layers",
    words="layers swapped",
    unit="cm²",
    factor=CM2_PER_M2,
    figure="outer cloth under a layer that it covered, as seen from outside, m²",
    bands=(0.2e-4, 1e-4, 10e-4),
    reason="a speck, a small button, a palm; common practice, no source",
    value=lambda faults: faults.broken.swapped_area,
    visible=5.0,
    is_summed=True,
    field=lambda look: look.swapped,
    layer=FaultLayer(
        name="layers",
        label="layers swapped",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Outer cloth that is now under the layer it covered, and the layer that is seen in its place.",
        field=_seen,
        top=PERCENT,
    ),
    brief="{} cm² under a layer",
)
