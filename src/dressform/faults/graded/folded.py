"""Folded over: cloth turned over against the cloth around it."""

from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.units import CM2_PER_M2, PERCENT

FOLDED = Fault(
    key="folded",
    words="folded over",
    unit="cm²",
    factor=CM2_PER_M2,
    figure="area of triangles turned over, m²",
    bands=(0.1e-4, 2e-4, 20e-4),
    reason="a triangle of half a centimetre, a thumbnail, a palm; common practice, no source",
    value=lambda faults: faults.broken.folded_area,
    visible=3.0,
    is_summed=True,
    field=lambda look: look.folded_area,
    layer=FaultLayer(
        name="folded",
        label="folded over",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Cloth turned over against the cloth around it, as a share of the cloth here.",
        field=lambda look: look.share(look.folded_area),
        top=PERCENT,
    ),
    brief="{} cm² folded over",
)
