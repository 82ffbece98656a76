"""A posed fit is the fit of a shape carried by the stance, at every shape; without joints it is refused."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.body.stance import carry
from dressform.errors import ArgumentError, MatchError
from dressform.fit.posed import body_maps, cloth_maps, posed_body, posed_fit, posing_of
from limbs import bend, limb, sleeve, sleeved

BODY = limb(along=9, around=8)
FIT = sleeved(BODY, sleeve(along=9, around=8))


@given(st.floats(-150, 150), st.integers(0, 2**31 - 1))
def test_posed_body_and_fit_are_what_the_stance_makes_of_a_shape(degrees: float, seed: int) -> None:
    weights, stance = np.random.default_rng(seed).uniform(-1, 2, 2), bend(degrees)
    posed, posing = posed_fit(FIT, stance), posing_of(FIT, stance)
    assert np.abs(posed.at(weights) - carry(posing.cloth, FIT.at(weights))).max() < 1e-12
    assert np.abs(posed.body.at(weights) - carry(posing.body, BODY.at(weights))).max() < 1e-12


def test_posed_rest_is_the_rest() -> None:
    posed = posed_fit(FIT, bend(0.0))
    assert np.abs(posed.base - FIT.base).max() < 1e-15
    assert np.abs(posed.deltas - FIT.deltas).max() < 1e-15


def test_several_fits_share_one_posed_body() -> None:
    there = posed_body(BODY, bend(90))
    assert posed_fit(FIT, bend(90), body=there).body is there


def test_fit_without_joint_weights_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`fit` must be of a garment with joint weights, got 'sleeve' without"):
        cloth_maps(replace(FIT, skin=None), bend(10))


def test_body_without_joints_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`body` must be of joints and joint weights, got 'limb' without"):
        body_maps(replace(BODY, skeleton=None, skin=None), bend(10))


def test_stance_of_another_skeleton_is_refused_by_a_posed_body() -> None:
    with pytest.raises(MatchError, match="must have the 1 joints"):
        posed_body(BODY, replace(bend(10), worlds=np.eye(4)[None]))
