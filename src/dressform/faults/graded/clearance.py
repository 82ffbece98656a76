"""Clearance change: how much nearer to the skin, or farther from it, the cloth is than as modelled."""

from collections.abc import Mapping, Sequence

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import VertexScalars
from dressform.faults.fault import DIVERGING, Column, Fault, FaultLayer
from dressform.faults.percentiles import percentiles
from dressform.faults.prepared import PreparedGarment
from dressform.faults.results import ClearanceChange, ShapeFaults
from dressform.units import MM_PER_M


def measure_clearance_change(
    change: Float[np.ndarray, " G"], areas: Float[np.ndarray, " G"], regions: Mapping[str, Bool[np.ndarray, " G"]]
) -> ClearanceChange:
    """Percentiles by area of clearance minus clearance at the base, overall and over the cloth on each body region."""
    by_region = {}
    for name, mask in regions.items():
        if areas[mask].sum() > 0:
            low, middle, high = percentiles(change[mask], areas[mask], (5.0, 50.0, 95.0))
            by_region[name] = (low, middle, high)
    p5, p50, p95 = percentiles(change, areas, (5.0, 50.0, 95.0))
    return ClearanceChange(p5, p50, p95, by_region)


def _beyond_meant(worn: PreparedGarment) -> VertexScalars:
    """Clearance at the base minus the intended clearance, metres, (G,)."""
    return worn.sides.signed - (worn.sides.signed if worn.meant is None else worn.meant)


def _worse_side(faults: ShapeFaults) -> float:
    return max(abs(faults.clearance_change.p5), abs(faults.clearance_change.p95))


def _column(faults: Sequence[ShapeFaults]) -> str:
    low = min(one.clearance_change.p5 for one in faults) * MM_PER_M
    return f"{low:+.1f} / {max(one.clearance_change.p95 for one in faults) * MM_PER_M:+.1f}"


CLEARANCE_CHANGE = FaultLayer(
    name="clearance_change",
    label="clearance change",
    unit="mm",
    factor=MM_PER_M,
    kind=DIVERGING,
    meaning="Clearance minus clearance at the base: negative is tighter than its maker made it.",
    field=lambda look: look.clearance_change,
)

CLEARANCE = Fault(
    key="clearance",
    words="clearance change",
    unit="mm",
    factor=MM_PER_M,
    figure="worse of p5, p95, m",
    bands=(0.005, 0.015, 0.030),
    reason="by 2πc, 3, 9 and 19 cm of girth: less than a size interval (4 cm, [EN13402-3]), two, another garment",
    value=_worse_side,
    visible=0.5,
    is_signed=True,
    field=lambda look: look.clearance_change,
    at_base=_beyond_meant,
    layer=CLEARANCE_CHANGE,
    columns=(Column("clearance change\nmm p5 / p95", _column),),
)
