"""Puckered: small folds that were not modelled, measured by the pucker index."""

from collections.abc import Sequence

from dressform.faults.fault import RISING, Column, Fault, FaultLayer
from dressform.faults.results import ShapeFaults

PER_TEN_THOUSAND = 1e4
UNIT = "‱"
"""In which people read the index; 30 ‱ of a window of 3 cm are 0.09 mm of roughness."""
TOO_COARSE = "too coarse"
"""Stands in tables where the windows hold too few vertices to tell."""


def _column(faults: Sequence[ShapeFaults]) -> str:
    told = [one.pucker.p95 for one in faults if one.pucker.is_told]
    return f"{max(told) * PER_TEN_THOUSAND:.0f}" if told else TOO_COARSE


PUCKER = Fault(
    key="pucker",
    words="puckered",
    unit=UNIT,
    factor=PER_TEN_THOUSAND,
    figure="index that 5 cm² reach",
    bands=(0.025, 0.05, 0.1),
    reason="as a viewer graded single folds; grave, torn, is a guess (decisions/bands.md)",
    value=lambda faults: faults.pucker.graded,
    visible=2.0,
    field=lambda look: look.pucker,
    layer=FaultLayer(
        name="pucker",
        label="pucker",
        unit=UNIT,
        factor=PER_TEN_THOUSAND,
        kind=RISING,
        meaning="How rough the cloth has become within 3 cm; 0 is smooth, or too coarse to tell.",
        field=lambda look: look.pucker,
    ),
    columns=(Column("pucker\np95 ‱", _column),),
)
