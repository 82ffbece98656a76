"""Proving: which pairs of cloth and body triangles keep apart at every shape of the range."""

import time
from collections.abc import Sequence
from typing import Protocol, runtime_checkable

import numpy as np

from dressform.body.body import Body
from dressform.body.pose import Animation
from dressform.body.stance import Stance
from dressform.body.stances.slider_ends import is_affine
from dressform.body.stances.sliders import JointSlider
from dressform.calls import called
from dressform.errors import ArgumentError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.load import BodyFile
from dressform.jobs.arguments import refuse_margin, refuse_shaped
from dressform.jobs.check_report import intervals_of
from dressform.mesh.geometry import face_areas
from dressform.proof.at_stance import certify_stances
from dressform.proof.certificate import Certificate, certify
from dressform.proof.clip import certify_clip
from dressform.proof.linear_mesh import LinearMesh, linear_body, linear_cloth
from dressform.proof.slider_range import MOST_SLIDERS, certify_sliders
from dressform.report.tables.proof import Proof
from dressform.units import MM_PER_M

ALL_CLIPS, NO_CLIPS = "all", "none"
"""What may be asked for instead of names of animations."""


@runtime_checkable
class Fitted(Protocol):
    """What has a fit, as what `repair` returned."""

    @property
    def fit(self) -> Fit:
        """The fit."""


@called("prove", apart=("margin_mm",))
def prove(
    fit: Fit | Fitted,
    *,
    margin_mm: float = 0.0,
    stances: Sequence[Stance] = (),
    clips: str = NO_CLIPS,
    sliders: bool = True,
    obstacle: LinearMesh | None = None,
) -> Proof:
    """Prove, pair by pair of triangles, that a fitted garment keeps clear of its body over the whole range.

    Args:
        fit: The fitted garment, or what `repair` returned.
        margin_mm: Gap to prove, mm; 0 proves that cloth and body never touch, tucked rims apart.
        stances: Stances at which it is to keep off the skin under it too, beside rest.
        clips: Animations of the body's file at whose every instant it is to keep off that skin, too: names separated
            by commas, `all` or `none`. It takes minutes.
        sliders: Whether sliders of its body that move joints are proven too, at every value of all of them together,
            in the modelled pose. Without joint weights, or without such sliders, nothing is.
        obstacle: Its body as a moving mesh if it is at hand.

    Raises:
        MatchError: there are stances, and the fit or its body has no joint weights or another number of joints.
        ArgumentError: `margin_mm` is negative, not finite, or as large as the body is deep; or an animation is asked
            for that the body's file does not have.

    Proof: tests/proof/test_certificate.py
    """
    fit = fit if isinstance(fit, Fit) else fit.fit
    refuse_shaped("prove", fit)
    start, body = time.perf_counter(), fit.body
    refuse_margin("prove", margin_mm, depth_mm=float(np.ptp(body.vertices, axis=0).min()) * MM_PER_M)
    moving = linear_body(body) if obstacle is None else obstacle
    certificate = certify(linear_cloth(fit), moving, body.range, margin=margin_mm / MM_PER_M)
    at_stances = certify_stances(fit, stances, margin=margin_mm / MM_PER_M, obstacle=moving)
    moving_clips = tuple(
        certify_clip(fit, one, margin=margin_mm / MM_PER_M, obstacle=moving)
        for one in chosen_clips("prove", body, clips)
    )
    tucked, joints = tucked_share(fit, certificate), body.skeleton.names if body.skeleton is not None else ()
    chosen, left = chosen_sliders(fit) if sliders else ((), {})
    sliding = certify_sliders(fit, chosen, margin=margin_mm / MM_PER_M, obstacle=moving) if chosen else None
    seconds = time.perf_counter() - start
    return Proof(
        fit.garment.name, body.name, intervals_of(body), certificate, tucked, seconds, at_stances, joints,
        moving_clips, sliding, left,
    )  # fmt: skip


def chosen_sliders(fit: Fit) -> tuple[tuple[JointSlider, ...], dict[str, str]]:
    """Sliders of a fit's body that can be proven at every value, and why not, by name, of those that cannot."""
    body = fit.body
    if body.skeleton is None or not body.joint_sliders:
        return (), {}
    follows = body.joint_moves is not None and bool(body.joint_moves.any())
    left: dict[str, str] = {}
    for one in body.joint_sliders:
        if fit.skin is None:
            left[one.name] = "the garment has no joint weights"
        elif one.animation is not None:
            left[one.name] = "it plays an animation, which `--clips` proves"
        elif follows and not is_affine(body.skeleton, one):
            left[one.name] = "it bends positions, and joints of this body follow its morphs"
    chosen = tuple(one for one in body.joint_sliders if one.name not in left)
    if len(chosen) > MOST_SLIDERS:
        left |= {one.name: f"only the first {MOST_SLIDERS} are" for one in chosen[MOST_SLIDERS:]}
    return chosen[:MOST_SLIDERS], left


def chosen_clips(function: str, body: Body, asked: str) -> tuple[Animation, ...]:
    """Animations of a body's file by their names, separated by commas, or `all` or `none`.

    Raises:
        ArgumentError: the file has no animation of that name; its names are listed.
    """
    if asked == NO_CLIPS:
        return ()
    found = read_animations(body.source) if isinstance(body.source, BodyFile) else ()
    if asked == ALL_CLIPS and found:
        return tuple(found)
    known = {one.name: one for one in found}
    names = [name.strip() for name in asked.split(",")]
    unknown = next((name for name in names if name not in known), None)
    if unknown is not None:
        rule = f"of the animations of {body.name!r}: {', '.join(known) or 'there are none'}"
        raise ArgumentError.of(function, "clips", rule, repr(unknown), f"Use these names, {ALL_CLIPS} or {NO_CLIPS}")
    return tuple(known[name] for name in dict.fromkeys(names))


def tucked_share(fit: Fit, certificate: Certificate) -> float:
    """Share of the cloth's area that a certificate leaves out and that belongs to a tucked rim, 0 to 1."""
    if not certificate.excluded.any():
        return 0.0
    found, faces = GarmentOnBody(fit).cloth_at_base, fit.garment.faces
    rim = (found.tucked[faces] > 0).any(axis=1) & (found.inside[faces] == 0).all(axis=1)
    areas = face_areas(fit.base, faces)
    return float(areas[certificate.excluded & rim].sum() / areas.sum())
