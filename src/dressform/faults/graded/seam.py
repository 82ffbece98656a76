"""Seam open: vertices that coincide at the base and part."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.faults.fault import RISING, Fault, FaultLayer
from dressform.faults.look import Look
from dressform.units import MM_PER_M


def _gaps(look: Look) -> VertexScalars:
    """The widest gap at each vertex, metres."""
    gaps = np.zeros(len(look.cloth))
    np.maximum.at(gaps, look.seams, look.gaps[:, None])
    return gaps


SEAM = Fault(
    key="seam",
    words="seam open",
    unit="mm",
    factor=MM_PER_M,
    figure="opening, m",
    bands=(0.0001, 0.0005, 0.002),
    reason="0.1 mm is a hair, 2 mm a hole",
    value=lambda faults: faults.broken.seam_opening,
    visible=3.0,
    field=_gaps,
    layer=FaultLayer(
        name="seam",
        label="seam open",
        unit="mm",
        factor=MM_PER_M,
        kind=RISING,
        meaning="How far vertices have parted that coincide at the base.",
        field=_gaps,
    ),
    brief="seam open {} mm",
)
