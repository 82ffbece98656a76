"""Proving: which pairs of cloth and body triangles keep apart at every shape of the range."""

import time
from collections.abc import Sequence
from typing import Protocol, runtime_checkable

import numpy as np

from dressform.body.stance import Stance
from dressform.calls import called
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.jobs.arguments import refuse_margin, refuse_shaped
from dressform.jobs.check_report import intervals_of
from dressform.mesh.geometry import face_areas
from dressform.proof.at_stance import certify_stances
from dressform.proof.certificate import Certificate, certify
from dressform.proof.linear_mesh import LinearMesh, linear_body, linear_cloth
from dressform.report.tables.proof import Proof
from dressform.units import MM_PER_M


@runtime_checkable
class Fitted(Protocol):
    """What has a fit, as what `repair` returned."""

    @property
    def fit(self) -> Fit:
        """The fit."""


@called("prove", apart=("margin_mm",))
def prove(
    fit: Fit | Fitted, *, margin_mm: float = 0.0, stances: Sequence[Stance] = (), obstacle: LinearMesh | None = None
) -> Proof:
    """Prove, pair by pair of triangles, that a fitted garment keeps clear of its body over the whole range.

    Args:
        fit: The fitted garment, or what `repair` returned.
        margin_mm: Gap to prove, mm; 0 proves that cloth and body never touch, tucked rims apart.
        stances: Stances at which it is to keep off the skin under it too, beside rest.
        obstacle: Its body as a moving mesh if it is at hand.

    Raises:
        MatchError: there are stances, and the fit or its body has no joint weights or another number of joints.
        ArgumentError: `margin_mm` is negative, not finite, or as large as the body is deep.

    Proof: tests/proof/test_certificate.py
    """
    fit = fit if isinstance(fit, Fit) else fit.fit
    refuse_shaped("prove", fit)
    start, body = time.perf_counter(), fit.body
    refuse_margin("prove", margin_mm, depth_mm=float(np.ptp(body.vertices, axis=0).min()) * MM_PER_M)
    moving = linear_body(body) if obstacle is None else obstacle
    certificate = certify(linear_cloth(fit), moving, body.range, margin=margin_mm / MM_PER_M)
    at_stances = certify_stances(fit, stances, margin=margin_mm / MM_PER_M, obstacle=moving)
    tucked, joints = tucked_share(fit, certificate), body.skeleton.names if body.skeleton is not None else ()
    seconds = time.perf_counter() - start
    return Proof(fit.garment.name, body.name, intervals_of(body), certificate, tucked, seconds, at_stances, joints)


def tucked_share(fit: Fit, certificate: Certificate) -> float:
    """Share of the cloth's area that a certificate leaves out and that belongs to a tucked rim, 0 to 1."""
    if not certificate.excluded.any():
        return 0.0
    found, faces = GarmentOnBody(fit).cloth_at_base, fit.garment.faces
    rim = (found.tucked[faces] > 0).any(axis=1) & (found.inside[faces] == 0).all(axis=1)
    areas = face_areas(fit.base, faces)
    return float(areas[certificate.excluded & rim].sum() / areas.sum())
