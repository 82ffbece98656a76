"""Where blending folds the skin: against the closed form of a bent cylinder."""

import numpy as np
import pytest

from bent_limb import RADIUS, bent, limb
from dressform.proof.folds import folded_faces
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
