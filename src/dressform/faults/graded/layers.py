"""Layers swapped: outer cloth that is now under the layer it covered."""

from dressform.faults.fault import Fault, spread

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
    brief="{} under a layer",
)
