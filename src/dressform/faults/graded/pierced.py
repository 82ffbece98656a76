"""The layer below comes through: cloth of a garment worn under this one that lies outside it."""

from dressform.faults.fault import Fault
from dressform.units import CM2_PER_M2

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
    brief="{} cm² of a layer below",
)
