"""Layers swapped: outer cloth that is now under the layer it covered."""

import numpy as np

from dressform.faults.fault import RISING, Fault, FaultLayer, spread
from dressform.units import PERCENT

LAYERS = Fault(
    key="layers",
    words="layers swapped",
    unit="vertices",
    factor=1.0,
    figure="vertices",
    bands=(1.0, 20.0, 200.0),
    reason="as `folded`",
    value=lambda faults: float(faults.broken.layer_swaps),
    visible=5.0,
    is_summed=True,
    field=lambda look: spread(look.swaps[:, None], len(look.cloth)),
    layer=FaultLayer(
        name="layers",
        label="layers swapped",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Outer cloth that is now under the layer it covered: all of it or none.",
        least=PERCENT,
        field=lambda look: np.minimum(spread(look.swaps[:, None], len(look.cloth)), 1.0),
        top=PERCENT,
    ),
    brief="{} under a layer",
)
