"""Cloth inside the body, as a share of its area; `depth` locates and shows it."""

from dressform.faults.fault import Column, Fault
from dressform.faults.graded.depth import DEPTH
from dressform.units import PERCENT

INSIDE = Fault(
    key="inside",
    words="cloth inside the body",
    unit="%",
    factor=PERCENT,
    figure="inside share",
    bands=(0.0005, 0.005, 0.03),
    reason="common practice, no source",
    value=lambda faults: faults.show_through.inside_share,
    visible=DEPTH.visible,
    layer=DEPTH.layer,
    columns=(
        Column(
            "inside\n%",
            lambda faults: f"{max(one.show_through.inside_share for one in faults) * PERCENT:.2f}",
            is_wide=True,
        ),
    ),
)
