"""Cloth deep in the body: how far under the skin the cloth is, where it was not inside at the base."""

from collections.abc import Sequence

import numpy as np

from dressform.faults.fault import RISING, Column, Fault, FaultLayer
from dressform.faults.results import ShapeFaults
from dressform.units import MM_PER_M


def _column(faults: Sequence[ShapeFaults]) -> str:
    p95 = max(one.show_through.depth_p95 for one in faults) * MM_PER_M
    return f"{p95:.1f} / {max(one.show_through.depth_max for one in faults) * MM_PER_M:.1f}"


DEPTH = Fault(
    key="depth",
    words="cloth deep in the body",
    unit="mm",
    factor=MM_PER_M,
    figure="depth max, m",
    bands=(0.001, 0.003, 0.010),
    reason="1 mm is what published work tolerates; 1 cm can't be hidden by margin",
    value=lambda faults: faults.show_through.depth_max,
    visible=0.1,
    field=lambda look: look.depths,
    at_base=lambda worn: np.maximum(-worn.start_sides.signed, 0.0),
    areas=lambda look: look.under_skin,
    layer=FaultLayer(
        name="depth",
        label="cloth under the skin",
        unit="mm",
        factor=MM_PER_M,
        kind=RISING,
        meaning="How deep the cloth has sunk into the body; what lay inside at the base does not count.",
        field=lambda look: look.depths,
    ),
    columns=(Column("depth mm\np95 / max", _column),),
)
