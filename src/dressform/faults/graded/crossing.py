"""Cuts through itself: pairs of the garment's triangles that newly cross."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.faults.fault import Fault, spread
from dressform.faults.look import Look


def _pairs(look: Look) -> VertexScalars:
    """One unit per pair, in equal parts at its six vertices."""
    first, second = look.crossing.T
    return spread(np.concatenate([look.cloth_faces[first], look.cloth_faces[second]], axis=1), len(look.cloth))


CROSSING = Fault(
    key="crossing",
    words="cuts through itself",
    unit="pairs",
    factor=1.0,
    figure="pairs",
    bands=(1.0, 20.0, 200.0),
    reason="as `folded`",
    value=lambda faults: float(faults.broken.crossing_pairs),
    visible=1.0,
    is_summed=True,
    field=_pairs,
    brief="{} cut through",
)
