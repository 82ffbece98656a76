"""Skin shows: skin that the garment hid at the base and that has come through it."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.faults.fault import BODY, RISING, Column, Fault, FaultLayer
from dressform.faults.look import Look
from dressform.mesh.geometry import vertex_areas
from dressform.units import CM2_PER_M2, PERCENT


def _share(look: Look) -> VertexScalars:
    """Share of the skin around each body vertex that shows, 0 to 1."""
    areas = vertex_areas(look.body, look.body_faces)
    shares = np.divide(look.through.exposed.areas, areas, out=np.zeros(len(areas)), where=areas > 0)
    return np.minimum(shares, 1.0)


EXPOSED = Fault(
    key="exposed",
    words="skin shows",
    unit="cm²",
    factor=CM2_PER_M2,
    figure="exposed area, m²",
    bands=(0.2e-4, 2e-4, 10e-4),
    reason="a speck, a thumbnail, a hole that is seen before the garment (decisions/bands.md)",
    value=lambda faults: faults.show_through.exposed_area,
    visible=20.0,
    on=BODY,
    is_summed=True,
    field=lambda look: look.through.exposed.areas,
    areas=lambda look: look.through.exposed.areas,
    layer=FaultLayer(
        name="exposed",
        label="skin shows",
        unit="%",
        factor=PERCENT,
        kind=RISING,
        meaning="Share of the skin here that the garment hid at the base and that shows now.",
        field=_share,
        top=PERCENT,
    ),
    columns=(
        Column(
            "skin shows\ncm²",
            lambda faults: f"{max(one.show_through.exposed_area for one in faults) * CM2_PER_M2:.1f}",
        ),
        Column(
            "of hidden\n%",
            lambda faults: f"{max(one.show_through.exposed_share for one in faults) * PERCENT:.2f}",
            is_wide=True,
        ),
    ),
)
