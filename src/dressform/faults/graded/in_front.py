"""Skin in front at the base: skin that lies over the cloth before anything moves.

It is a fault of the base: the same on every shape, and a repaired fit has that of its repaired base.
"""

from collections.abc import Sequence

import numpy as np

from dressform.arrays import VertexScalars
from dressform.faults.fault import BODY, RISING, Column, Fault, FaultLayer
from dressform.faults.look import Look
from dressform.faults.results import ShapeFaults
from dressform.units import CM2_PER_M2, PERCENT


def _share(look: Look) -> VertexScalars:
    """Share of the skin around each body vertex that is in front at the base, 0 to 1."""
    areas = look.worn.context.areas
    shares = np.divide(look.worn.skin_in_front, areas, out=np.zeros(len(areas)), where=areas > 0)
    return np.minimum(shares, 1.0)


def _column(faults: Sequence[ShapeFaults]) -> str:
    skin = max(one.at_base.skin_area for one in faults) * CM2_PER_M2
    return f"{skin:.1f} / {max(one.at_base.inside_share for one in faults) * PERCENT:.1f}"


IN_FRONT = Fault(
    key="in_front",
    words="skin in front at the base",
    unit="cm²",
    factor=CM2_PER_M2,
    figure="skin in front of the cloth at the base, m²",
    bands=(0.2e-4, 2e-4, 20e-4),
    reason="as `exposed`: a speck, a thumbnail, a palm",
    value=lambda faults: faults.at_base.skin_area,
    visible=20.0,
    on=BODY,
    is_summed=True,
    is_constant=True,
    field=lambda look: look.worn.skin_in_front,
    areas=lambda look: look.worn.skin_in_front,
    layer=FaultLayer(
        name="in_front",
        label="skin in front at the base",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Share of the skin here that lies in front of the cloth before anything moves; tucked rims apart.",
        field=_share,
        top=PERCENT,
    ),
    columns=(Column("at the base\ncm² / % in", _column),),
)
