"""Sliders that move joints: closed forms on a limb, affine in each slider and in the weights where that is claimed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.body.pose import LINEAR, ROTATION, SCALE, TRANSLATION, Animation, NodeTree, Track
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance, carry
from dressform.body.stances.slider_ends import MOST_CORNERS, is_affine, slider_stances
from dressform.body.stances.sliders import JointEffect, JointSlider, animated_slider, slid_worlds
from dressform.body.stances.turns import about
from dressform.errors import ArgumentError

STEP, FRONT = np.array([0.0, 0.5, 0.0]), np.array([0.0, 0.0, 1.0])
SEEDS = st.integers(0, 2**31 - 1)


def limb(*, joints: int = 3) -> Skeleton:
    """Joints in a row, half a metre apart."""
    rest = np.tile(np.eye(4), (joints, 1, 1))
    rest[1:, :3, 3] = STEP
    worlds = rest.copy()
    for joint in range(1, joints):
        worlds[joint] = worlds[joint - 1] @ rest[joint]
    return Skeleton(
        tuple(f"joint {number}" for number in range(joints)), np.arange(joints) - 1, rest, np.linalg.inv(worlds)
    )


def scaled(name: str, *joints: int, low: float = 0.8, high: float = 1.5) -> JointSlider:
    return JointSlider(name, tuple(JointEffect(joint, SCALE, (low,) * 3, (high,) * 3) for joint in joints))


LONGER = JointSlider("longer", (JointEffect(2, TRANSLATION, (0, -0.1, 0), (0, 0.2, 0)),))
BENT = JointSlider("bent", (JointEffect(1, ROTATION, (0, 0, 0), (90, 0, 0)),), low=0.0)


def ends(skeleton: Skeleton, *sliders: JointSlider, **values: float) -> np.ndarray:
    return slid_worlds(skeleton, sliders, values)[:, :3, 3]


def test_scale_of_a_joint_moves_all_below_it_and_not_itself() -> None:
    places = ends(limb(), scaled("big", 1), big=1)
    assert np.allclose(places, [[0, 0, 0], STEP, STEP + 1.5 * STEP])
    assert np.allclose(ends(limb(), scaled("big", 1), big=-0.5)[2], STEP + 0.9 * STEP)


def test_offset_and_turn_are_those_of_the_node() -> None:
    assert np.allclose(ends(limb(), LONGER, longer=1)[2], 2 * STEP + (0, 0.2, 0))
    assert np.allclose(ends(limb(), LONGER, longer=-1)[2], 2 * STEP - (0, 0.1, 0))
    assert np.allclose(ends(limb(), BENT, bent=1)[2], STEP + 0.5 * FRONT)


def test_at_zero_the_body_is_as_modelled() -> None:
    transforms = slid_worlds(limb(), (LONGER, BENT, scaled("big", 0)), {}) @ limb().inverse_bind
    assert np.abs(transforms - np.eye(4)).max() < 1e-15


def test_a_slider_comes_before_the_turn_of_a_stance_as_scale_comes_before_rotation_in_a_node() -> None:
    """A node is T R S: its scale does not depend on how it is turned, and its turn not on its scale [glTF2 3.5.3]."""
    flat = JointSlider("flat", (JointEffect(1, SCALE, (1, 1, 1), (1, 2, 1)),))
    worlds = slid_worlds(limb(), (flat,), {"flat": 1}, {1: about((1, 0, 0), 90)})
    assert np.allclose(worlds[2, :3, 3], STEP + FRONT)
    assert np.allclose(worlds[1, :3, :3] @ (0, 1, 0), (0, 0, 2))


@settings(max_examples=15)
@given(SEEDS)
def test_posed_points_are_affine_in_the_weights_and_in_each_slider_of_one_node(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sliders = (scaled("big", 0), scaled("thick", 1), LONGER)
    assert all(is_affine(limb(), slider) for slider in sliders)
    points, deltas = rng.normal(size=(30, 3)), rng.normal(size=(2, 30, 3))
    shares = rng.dirichlet((1, 1, 1), size=30)
    skin = Skin(np.tile([0, 1, 2], (30, 1)), shares)
    turns = {1: about(rng.normal(size=3), float(rng.uniform(-120, 120)))}

    def at(weights: np.ndarray, **values: float) -> np.ndarray:
        maps = Stance("", slid_worlds(limb(), sliders, values, turns)).maps(skin, limb())
        return carry(maps, points + np.tensordot(weights, deltas, axes=1))

    values = {slider.name: float(rng.uniform(-1, 1)) for slider in sliders}
    first, second = rng.uniform(-1, 1, size=(2, 2))
    middle = 0.3 * at(first, **values) + 0.7 * at(second, **values)
    assert np.abs(at(0.3 * first + 0.7 * second, **values) - middle).max() < 1e-12
    for name in values:
        low, high = (at(first, **{**values, name: end}) for end in (0.0, 1.0))
        assert np.abs(at(first, **{**values, name: 0.4}) - (0.6 * low + 0.4 * high)).max() < 1e-12


@settings(max_examples=8)
@given(SEEDS)
def test_gap_along_a_fixed_direction_is_least_at_a_corner_of_the_sliders(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sliders = (scaled("big", 0), scaled("thick", 1), LONGER)
    skeleton, point, direction = limb(), rng.normal(size=(1, 3)), rng.normal(size=3)
    pair = [Skin(np.array([[0, 1, 2]]), rng.dirichlet((1, 1, 1), size=1)) for _ in range(2)]

    def gap(values: dict[str, float]) -> float:
        stance = Stance("", slid_worlds(skeleton, sliders, values))
        cloth, body = (carry(stance.maps(skin, skeleton), point)[0] for skin in pair)
        return float(direction @ (cloth - body))

    corners = [
        gap({"big": big, "thick": thick, "longer": longer})
        for big in (-1, 0, 1) for thick in (-1, 0, 1) for longer in (-1, 0, 1)
    ]  # fmt: skip
    inside = [gap({slider.name: float(rng.uniform(-1, 1)) for slider in sliders}) for _ in range(12)]
    assert min(inside) >= min(corners) - 1e-12


@pytest.mark.parametrize(
    ("slider", "affine"),
    [(scaled("one", 1), True), (scaled("two", 0, 2), False), (BENT, False), (LONGER, True)],
)
def test_what_is_called_affine_is_and_what_is_not_is_not(slider: JointSlider, affine: bool) -> None:
    half, whole, none = (slid_worlds(limb(joints=4), (slider,), {slider.name: value}) for value in (0.5, 1.0, 0.0))
    assert is_affine(limb(joints=4), slider) == affine
    assert (np.abs(half - (whole + none) / 2).max() < 1e-12) == affine


def test_ends_and_corners_of_a_chain_are_stances_and_samples_where_it_is_not_affine() -> None:
    big, thick = scaled("big", 0), scaled("thick", 1)
    names = [stance.name for stance in slider_stances(limb(), (big, thick))[0]]
    assert names[:4] == ["big low", "big high", "thick low", "thick high"]
    assert names[4:] == ["big low, thick low", "big low, thick high", "big high, thick low", "big high, thick high"]
    assert [stance.name for stance in slider_stances(limb(), (BENT,))[0]] == ["bent 0.5", "bent high"]
    stances, notes = slider_stances(limb(), (big,))
    assert np.array_equal(stances[1].worlds, slid_worlds(limb(), (big,), {"big": 1}))
    assert notes[0].startswith("2 stances stand for the sliders that move joints (big), in the modelled pose")


def test_sliders_on_different_limbs_have_no_corners_in_common() -> None:
    rest = np.tile(np.eye(4), (3, 1, 1))
    rest[1, :3, 3], rest[2, :3, 3] = (1, 0, 0), (-1, 0, 0)
    forked = Skeleton(("root", "left", "right"), np.array([-1, 0, 0]), rest, np.linalg.inv(rest))
    assert len(slider_stances(forked, (scaled("l", 1), scaled("r", 2)))[0]) == 4


def test_many_sliders_on_one_chain_are_looked_at_in_part_and_a_note_says_so() -> None:
    sliders = tuple(scaled(f"s{number}", number) for number in range(12))
    stances, notes = slider_stances(limb(joints=12), sliders)
    assert len(stances) == 24 + MOST_CORNERS
    assert f"the first {MOST_CORNERS} are looked at" in notes[-1]


def test_body_without_sliders_has_no_stances_of_them() -> None:
    assert slider_stances(limb(), ()) == ((), ())


def played(*, start: float = 0.0) -> Animation:
    places = np.concatenate([[[0, 0, 0]], np.tile(STEP, (2, 1))])
    still = np.tile([0.0, 0, 0, 1], (3, 1))
    tree = NodeTree(
        np.arange(3) - 1, places, still, np.ones((3, 3)), np.tile(np.eye(4), (3, 1, 1)), np.zeros(3, dtype=bool),
        np.arange(3), np.eye(4),
    )  # fmt: skip
    grown = np.array([(1 + 2 * start) * STEP, 2 * STEP])
    return Animation("grow", tree, (Track(2, TRANSLATION, np.array([1.0, 3.0]), grown, LINEAR),))


def test_animation_serves_as_a_slider_from_its_first_key_to_its_last() -> None:
    slider = animated_slider("grow", played(), limb())
    assert (slider.low, slider.high) == (0.0, 1.0)
    assert np.allclose(ends(limb(), slider, grow=0.5)[2], STEP + 1.5 * STEP)
    assert slider.moved(limb()) == (2,)
    assert [stance.name for stance in slider_stances(limb(), (slider,))[0]] == ["grow 0.5", "grow high"]
    both = slid_worlds(limb(), (scaled("big", 1), slider), {"big": 1, "grow": 1})
    assert np.allclose(both[2, :3, 3], STEP + 1.5 * 2 * STEP)


def test_animation_that_starts_elsewhere_is_no_slider() -> None:
    with pytest.raises(
        ArgumentError, match="must be one that starts as modelled, got one that starts elsewhere, 'grow'"
    ):
        animated_slider("grow", played(start=0.1), limb())


def test_unknown_sliders_and_values_beyond_their_ends_are_refused() -> None:
    with pytest.raises(ArgumentError, match=r"named as the sliders that move joints: longer, got 'long'"):
        slid_worlds(limb(), (LONGER,), {"long": 1})
    with pytest.raises(ArgumentError, match=r"from 0 to 1 for bent, got -0\.1"):
        slid_worlds(limb(), (BENT,), {"bent": -0.1})
