"""Where blending folds the skin: against the closed form of a bent cylinder."""

import numpy as np
import pytest

from bent_limb import RADIUS, bent, limb
from dressform.proof.folds import folded_faces, folding_sign
from dressform.proof.linear_mesh import linear_body, posed


def folds(ramp: float, degrees: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    body = limb(ramp=ramp, rings=121, sides=48)
    maps = bent(degrees).maps(body.skin, body.skeleton)
    mesh = linear_body(body)
    at_base, later = folded_faces(mesh, posed(mesh, maps), maps, body.range)
    return at_base, later, body.vertices[body.faces].mean(axis=1)


@pytest.mark.parametrize("degrees", [90.0, 120.0, 140.0])
def test_skin_folds_beyond_half_the_ramp_times_the_cotangent(degrees: float) -> None:
    """In the joint plane skin folds where z > (ℓ/2) cot(θ/2), the bend's own formula."""
    ramp = 0.04
    at_base, _, middles = folds(ramp, degrees)
    depth = ramp / 2 / np.tan(np.radians(degrees / 2))
    assert depth < RADIUS
    plane = np.abs(middles[:, 1]) < 0.004
    edge = 0.004
    assert at_base[plane & (middles[:, 2] > depth + edge)].all()
    assert not at_base[plane & (middles[:, 2] < depth - edge)].any()
    assert not at_base[np.abs(middles[:, 1]) > ramp].any()


def test_ramp_twice_the_radius_times_the_tangent_never_folds() -> None:
    """No fold if and only if ℓ ≥ 2 R tan(θ/2)."""
    enough = 2 * RADIUS * np.tan(np.radians(40))
    assert not folds(1.05 * enough, 80.0)[0].any()
    assert folds(0.9 * enough, 80.0)[0].any()


def test_skin_that_folds_on_a_thicker_shape_only_is_told_apart() -> None:
    ramp = 1.1 * 2 * RADIUS * np.tan(np.radians(40))
    at_base, later, middles = folds(ramp, 80.0)
    assert not at_base.any()
    assert later.any()
    assert (middles[later][:, 2] > 0).all()


def test_sign_is_that_of_the_determinant_in_closed_form() -> None:
    """det F = 1 − 4 w (1 − w) s² + w′ [(2 w − 1)(1 − cos θ) y − z sin θ] for a linear ramp."""
    ramp, angle = 0.05, np.radians(110)
    body = limb(ramp=ramp, rings=121, sides=48)
    maps = bent(110).maps(body.skin, body.skeleton)
    mesh = linear_body(body)
    sign = folding_sign(body.vertices, posed(mesh, maps), maps, np.zeros(2))
    corners = body.vertices[body.faces]
    middles = corners.mean(axis=1)
    whole = (np.abs(corners[:, :, 1]) < ramp / 2).all(axis=1)
    y, z = middles[whole, 1], middles[whole, 2]
    w = y / ramp + 0.5
    s = np.sin(angle / 2)
    det = 1 - 4 * w * (1 - w) * s**2 + ((2 * w - 1) * (1 - np.cos(angle)) * y - z * np.sin(angle)) / ramp
    clear = np.abs(det) > 0.05
    assert (det[clear] < 0).any()
    assert (np.sign(sign[whole][clear]) == np.sign(det[clear])).all()
