"""Hard part bent: a button, buckle or other hard part that changes its shape."""

from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.units import MM_PER_M

HARD = Fault(
    key="hard",
    words="hard part bent",
    unit="mm",
    factor=MM_PER_M,
    figure="bend, m",
    bands=(0.0005, 0.002, 0.005),
    reason="a coat button is 2–3 cm wide",
    value=lambda faults: faults.broken.hard_bend,
    visible=2.0,
    field=lambda look: look.bends,
    layer=FaultLayer(
        name="hard",
        label="hard part bent",
        unit="mm",
        factor=MM_PER_M,
        kind=RISING,
        meaning="How far a button, buckle or other hard part departs from its own form.",
        field=lambda look: look.bends,
    ),
    brief="hard part bent {} mm",
)
