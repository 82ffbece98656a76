"""Proving: which pairs of cloth and body triangles keep apart at every shape of the range."""

import time

from dressform.fit.fit import Fit
from dressform.jobs.arguments import refuse_margin, refuse_other
from dressform.jobs.check_report import intervals_of
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import LinearMesh, linear_body, linear_cloth
from dressform.report.tables.proof import Proof
from dressform.units import MM_PER_M


def prove(fit: Fit, *, margin_mm: float = 0.0, obstacle: LinearMesh | None = None) -> Proof:
    """Prove, pair by pair of triangles, that a fitted garment keeps clear of its body over the whole range.

    Args:
        fit: The fitted garment.
        margin_mm: Gap to prove, mm; 0 proves that cloth and body never touch.
        obstacle: Its body as a moving mesh if it is at hand.

    Raises:
        ArgumentError: `margin_mm` is negative.

    Proof: tests/proof/test_certificate.py
    """
    refuse_other("prove", "fit", fit, Fit)
    refuse_margin("prove", margin_mm)
    start, body = time.perf_counter(), fit.body
    certificate = certify(
        linear_cloth(fit), linear_body(body) if obstacle is None else obstacle, body.range, margin=margin_mm / MM_PER_M
    )
    return Proof(fit.garment.name, body.name, intervals_of(body), certificate, time.perf_counter() - start)
