"""A pose and sliders that move joints, put together: as if the slid skeleton had been posed, whichever came first."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.body.pose import ROTATION, SCALE, TRANSLATION
from dressform.body.stance import AS_MODELLED, Stance
from dressform.body.stances.slider_ends import modelled_stance, sampled_sliders, single_ends
from dressform.body.stances.sliders import JointEffect, JointSlider, slid_stance, slid_worlds
from dressform.body.stances.turns import about, worlds_of
from dressform.errors import ArgumentError
from skeletons import keeper

ARM, SHIN, SPINE = (keeper().names.index(name) for name in ("upper_arm_l", "shin_l", "spine_2"))
SLIDERS = (
    JointSlider("arm", (JointEffect(ARM, SCALE, (0.8, 0.9, 1.0), (1.3, 1.1, 1.0)),)),
    JointSlider("leg", (JointEffect(SHIN, TRANSLATION, (0, 0.05, 0), (0.01, -0.1, 0.02)),)),
    JointSlider("stoop", (JointEffect(SPINE, ROTATION, (-5, 0, 0), (20, 0, 0)),), low=0.0),
)


def values(rng: np.random.Generator) -> dict[str, float]:
    return {one.name: float(rng.uniform(one.low, one.high)) for one in SLIDERS}


@settings(max_examples=20)
@given(st.integers(0, 2**31 - 1))
def test_a_stance_that_is_slid_is_the_slid_skeleton_turned(seed: int) -> None:
    rng = np.random.default_rng(seed)
    joints = rng.choice(len(keeper().names), 8, replace=False)
    turns = {int(joint): about(rng.normal(size=3), float(rng.uniform(-120, 120))) for joint in joints}
    pose, chosen = Stance("pose", worlds_of(keeper(), turns)), values(rng)
    found = slid_stance(pose, keeper(), SLIDERS, chosen)
    assert np.abs(found.worlds - slid_worlds(keeper(), SLIDERS, chosen, turns)).max() < 1e-12
    assert found.pose == "pose"
    assert found.sliders == chosen


@settings(max_examples=10)
@given(st.integers(0, 2**31 - 1))
def test_values_replace_those_that_a_stance_has_and_zeros_give_the_pose_back(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pose = Stance("pose", worlds_of(keeper(), {ARM: about((0, 1, 0), 50)}))
    first, second = values(rng), values(rng)
    twice = slid_stance(slid_stance(pose, keeper(), SLIDERS, first), keeper(), SLIDERS, second)
    assert np.abs(twice.worlds - slid_stance(pose, keeper(), SLIDERS, second).worlds).max() < 1e-12
    back = slid_stance(twice, keeper(), SLIDERS, dict.fromkeys(second, 0.0))
    assert np.array_equal(back.worlds, pose.worlds)
    assert (back.name, dict(back.sliders)) == ("pose", {})


def test_names_say_the_pose_and_the_values() -> None:
    pose = Stance("sit", worlds_of(keeper(), {}))
    assert slid_stance(pose, keeper(), SLIDERS, {"arm": 1, "leg": -0.25}).name == "sit, arm high, leg -0.25"
    modelled = slid_stance(modelled_stance(keeper()), keeper(), SLIDERS, {"arm": -1})
    assert (modelled.name, modelled.pose) == ("arm low", AS_MODELLED)


def test_a_sample_of_sliders_is_even_stays_within_their_ends_and_is_the_same_each_time() -> None:
    sample = sampled_sliders(SLIDERS, 64, beside=12)
    assert sample == sampled_sliders(SLIDERS, 64, beside=12)
    for one in SLIDERS:
        found = np.sort([shape[one.name] for shape in sample])
        even = one.low + (one.high - one.low) * (np.arange(64) + 0.5) / 64
        assert np.abs(found - even).max() < (one.high - one.low) / 64
    assert [next(iter(one.values())) for one in single_ends(SLIDERS)] == [-1.0, 1.0, -1.0, 1.0, 1.0]


def test_values_beyond_an_end_are_refused() -> None:
    with pytest.raises(ArgumentError, match="`sliders` must be from -1 to 1 for arm, got 2"):
        slid_stance(modelled_stance(keeper()), keeper(), SLIDERS, {"arm": 2})
