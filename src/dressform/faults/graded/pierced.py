"""The layer below comes through: cloth of a garment worn under this one that lies outside it."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.faults.look import Look
from dressform.units import CM2_PER_M2, PERCENT


def _share(look: Look) -> VertexScalars:
    """Cloth of the layers below that has come through, as a share of the cloth around each vertex, 0 to 1."""
    areas = look.worn.areas
    return np.minimum(np.divide(look.pierced, areas, out=np.zeros(len(areas)), where=areas > 0), 1.0)


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
        least=PERCENT,
        field=_share,
        top=PERCENT,
    ),
    brief="{} cm² of a layer below",
)
