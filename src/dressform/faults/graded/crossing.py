"""Cuts through itself: area of the garment that newly passes through the garment, deep enough to be seen."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.faults.look import Look
from dressform.units import CM2_PER_M2, PERCENT


def _share(look: Look) -> VertexScalars:
    """Cloth that cuts through the garment, as a share of the cloth around each vertex, 0 to 1."""
    areas = look.worn.areas
    return np.minimum(np.divide(look.cut, areas, out=np.zeros(len(areas)), where=areas > 0), 1.0)


CROSSING = Fault(
    key="crossing",
    words="cuts through itself",
    unit="cm²",
    factor=CM2_PER_M2,
    figure="area that cuts 1 mm deep, m²",
    bands=(1e-4, 10e-4, 50e-4),
    reason="a fingertip, a small fold, a palm; cloth that only touches isn't seen",
    value=lambda faults: faults.broken.cut_area,
    visible=1.0,
    is_summed=True,
    field=lambda look: look.cut,
    layer=FaultLayer(
        name="crossing",
        label="cuts through itself",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Cloth that passes through the garment deep enough to be seen, as a share of the cloth here.",
        least=PERCENT,
        field=_share,
        top=PERCENT,
    ),
    brief="{} cm² cut through",
)
