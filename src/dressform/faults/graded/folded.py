"""Folded over: triangles turned over against the cloth around them."""

import numpy as np

from dressform.faults.fault import RISING, Fault, FaultLayer, spread
from dressform.units import PERCENT

FOLDED = Fault(
    key="folded",
    words="folded over",
    unit="triangles",
    factor=1.0,
    figure="triangles",
    bands=(1.0, 10.0, 100.0),
    reason="any turned triangle is an error, many are seen",
    value=lambda faults: float(faults.broken.folded_faces),
    visible=3.0,
    is_summed=True,
    field=lambda look: spread(look.cloth_faces[look.folded], len(look.cloth)),
    layer=FaultLayer(
        name="folded",
        label="folded over",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Cloth turned over against the cloth around it, as a share of a triangle here.",
        least=PERCENT,
        field=lambda look: np.minimum(spread(look.cloth_faces[look.folded], len(look.cloth)), 1.0),
        top=PERCENT,
    ),
    brief="{} folded over",
)
