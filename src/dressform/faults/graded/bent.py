"""Bent out of shape: cloth that has turned from where it would face if it followed the body smoothly."""

import math

from dressform.faults.fault import RISING, Fault, FaultLayer

DEGREES = 180.0 / math.pi

BENT = Fault(
    key="bent",
    words="bent out of shape",
    unit="°",
    factor=DEGREES,
    figure="turn that 50 cm² reach, or 0.7 of what a fold of 5 cm² reaches, rad",
    bands=(0.087, 0.14, 0.384),
    reason="5°, 8° and 22°, as a viewer graded bends and folds (decisions/bands.md)",
    value=lambda faults: faults.broken.bent,
    visible=1.0,
    is_between=True,
    field=lambda look: look.bent,
    layer=FaultLayer(
        name="bent",
        label="bent out of shape",
        unit="°",
        factor=DEGREES,
        kind=RISING,
        meaning="How far the cloth has turned from where it would face if it followed the body smoothly.",
        field=lambda look: look.bent,
    ),
    brief="bent by {}°",
)
