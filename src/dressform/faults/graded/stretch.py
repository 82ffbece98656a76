"""Stretched: how far the cloth lengthens or shortens beyond both its own length and the skin under it."""

from dressform.faults.fault import RISING, Column, Fault, FaultLayer
from dressform.units import PERCENT

STRETCH = Fault(
    key="stretch",
    words="stretched",
    unit="%",
    factor=PERCENT,
    figure="relative p99, abs ln",
    bands=(0.15, 0.30, 0.60),
    reason="16 %, 35 %, 82 % longer than it was and than the skin; a pattern shows from the second on",
    value=lambda faults: faults.stretch.relative_p99,
    visible=1.0,
    field=lambda look: look.stretch,
    layer=FaultLayer(
        name="stretch",
        label="stretch",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="How much longer or shorter the cloth becomes, beyond what the skin under it does; 0 is as modelled.",
        field=lambda look: look.stretch,
    ),
    columns=(
        Column(
            "stretch\np99 %",
            lambda faults: f"{max(one.stretch.relative_p99 for one in faults) * PERCENT:.0f}",
            is_wide=True,
        ),
    ),
)
