"""Cloth in the body at the base, tucked rims apart, also where it is too deep for skin to be in front of it.

It is a fault of the base: the same on every shape, and a repaired fit has that of its repaired base.
"""

from dressform.faults.fault import Fault
from dressform.units import PERCENT

SUNK = Fault(
    key="sunk",
    words="cloth in the body at the base",
    unit="%",
    factor=PERCENT,
    figure="share of the cloth inside at the base",
    bands=(0.0005, 0.005, 0.03),
    reason="as `inside`",
    value=lambda faults: faults.at_base.inside_share,
    visible=0.1,
    is_constant=True,
)
