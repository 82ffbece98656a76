"""Cuts through itself: area of the garment that newly passes through the garment, deep enough to be seen."""

from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.units import CM2_PER_M2, PERCENT

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
        field=lambda look: look.share(look.cut),
        top=PERCENT,
    ),
    brief="{} cm² cut through",
)
