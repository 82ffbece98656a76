"""Tape measures where sliders that move joints are set: named beside the morphs, taken of the slid body."""

from dataclasses import replace

import numpy as np
import pytest

import dressform as df
from bent_limb import MORPHS, limb
from dressform.body.body import Body
from dressform.body.pose import SCALE, TRANSLATION
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stances.sliders import JointEffect, JointSlider
from dressform.errors import ArgumentError
from dressform.fit.posed import slid_body
from dressform.jobs.arguments import left_at_zero
from phantoms import phantom_body

LONG = JointSlider("long", (JointEffect(1, TRANSLATION, (0, -0.05, 0), (0, 0.1, 0)),))
BIG = JointSlider("big", (JointEffect(0, SCALE, (0.8, 0.8, 0.8), (1.25, 1.25, 1.25)),))


def jointed() -> Body:
    """The phantom on one joint at its feet, which a slider scales."""
    body = phantom_body()
    ground = np.eye(4)
    ground[1, 3] = body.vertices[:, 1].min()
    joints = Skeleton(("root",), np.array([-1]), ground[None], np.linalg.inv(ground)[None])
    count = len(body.vertices)
    tall = JointSlider("size", (JointEffect(0, SCALE, (0.9, 0.9, 0.9), (1.1, 1.1, 1.1)),))
    skin = Skin(np.zeros((count, 1), dtype=np.int64), np.ones((count, 1)))
    return replace(body, skeleton=joints, skin=skin, joint_sliders=(tall,))


def test_a_body_scaled_by_a_slider_measures_in_proportion_and_is_named_so() -> None:
    body = jointed()
    plain, big = df.measure(body, {"belly": 1}), df.measure(body, {"belly": 1, "size": 1})
    assert big.cm["stature"] == pytest.approx(1.1 * plain.cm["stature"], rel=1e-9)
    assert big.measures.label == "belly=1 size=1"
    assert df.measure(body, {"size": -0.5}).measures.label == "size=-0.5"


def test_values_beyond_an_end_and_unknown_names_are_refused_in_the_words_of_the_call() -> None:
    with pytest.raises(
        ArgumentError, match="measure: `weights` must be from -1 to 1 for size, which moves joints, got 2"
    ):
        df.measure(jointed(), {"size": 2})
    with pytest.raises(ArgumentError, match="measure: `weights` must be names of morphs or sliders that move joints"):
        df.measure(jointed(), {"sise": 1})


def test_slid_body_is_the_body_at_these_values_on_every_shape_and_can_be_slid_no_further() -> None:
    body = replace(limb(rings=13, sides=12), joint_sliders=(LONG, BIG))
    values = {"long": 0.5, "big": -1.0}
    there = slid_body(body, values)
    for weights in np.random.default_rng(1).uniform(0, 1, (4, 2)):
        named = dict(zip(MORPHS, weights)) | values
        assert np.abs(there.at(weights) - body.at(named)).max() < 1e-12
    assert there.joint_sliders == ()
    assert there.skeleton is not None
    assert there.skin is not None
    bound = there.skeleton.world() @ there.skeleton.inverse_bind
    assert np.abs(bound - np.eye(4)).max() < 1e-12


def test_searches_over_morphs_alone_name_the_sliders_that_stay_at_0() -> None:
    note = "looked for among the morphs alone: sliders that move joints stay at 0 (size)"
    body = jointed()
    found = df.measure(body, find={"waist": 85.0})
    assert note in found.measures.notes
    assert note not in df.measure(body).measures.notes
    assert left_at_zero(replace(body, joint_sliders=())) == ()
    assert left_at_zero(body) == (note,)
