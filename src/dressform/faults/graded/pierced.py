"""The layer below comes through: cloth of a garment worn under this one that lies outside it."""

from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.units import CM2_PER_M2, PERCENT

PIERCED = Fault(
    key="pierced",
    words="layer below comes through",
    unit="cm²",
    factor=CM2_PER_M2,
    figure="cloth of layers below outside this one, m²",
    bands=(0.2e-4, 2e-4, 20e-4),
    reason="as `exposed`: it is seen as plainly",
    value=lambda faults: faults.broken.pierced_area,
    visible=10.0,
    is_summed=True,
    is_between=True,
    field=lambda look: look.pierced,
    areas=lambda look: look.pierced,
    layer=FaultLayer(
        name="pierced",
        label="layer below comes through",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Cloth of what is worn under this that has come through it, as a share of the cloth here.",
        field=lambda look: look.share(look.pierced),
        top=PERCENT,
    ),
    brief="{} cm² of a layer below",
)
