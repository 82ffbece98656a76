"""Folded over: triangles turned over against the cloth around them."""

from dressform.faults.fault import Fault, spread

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
    brief="{} folded over",
)
