"""Puckered: small folds that were not modelled, measured by the pucker index."""

from dressform.faults.fault import RISING, Column, Fault, FaultLayer

PUCKER = Fault(
    key="pucker",
    words="puckered",
    unit="",
    factor=1.0,
    figure="p99",
    bands=(0.005, 0.02, 0.03),
    reason=(
        "a guess to be tuned with viewers: from here on seen in glancing light; seen at once; 0.9 mm RMS in 3 cm. "
        "p99: of a shirt, a palm puckers more"
    ),
    value=lambda faults: faults.pucker.p99,
    visible=2.0,
    field=lambda look: look.pucker,
    layer=FaultLayer(
        name="pucker",
        label="pucker",
        unit="",
        factor=1.0,
        kind=RISING,
        meaning="How rough the cloth has become within 3 cm; 0 is smooth.",
        least=0.01,
        field=lambda look: look.pucker,
    ),
    columns=(Column("pucker\np95 ‱", lambda faults: f"{max(one.pucker.p95 for one in faults) * 1e4:.0f}"),),
)
