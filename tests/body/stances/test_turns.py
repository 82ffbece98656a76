"""Turns from the modelled pose: closed forms, and the transforms that an engine would hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from dressform.body.pose import turned_worlds
from dressform.body.skeleton import Skeleton
from dressform.body.stances.turns import about, mirrored, modelled_locals, shortest, turned_locals, worlds_of
from dressform.errors import ArgumentError
from skeletons import keeper, remodelled, with_odd_axes

SEEDS = st.integers(0, 2**31 - 1)


def test_turn_follows_the_right_hand_rule() -> None:
    assert np.allclose(about((0, 0, 2), 90) @ (1, 0, 0), (0, 1, 0), atol=1e-15)


@given(SEEDS)
def test_shortest_turn_carries_one_direction_into_the_other_by_their_angle(seed: int) -> None:
    first, second = np.random.default_rng(seed).normal(size=(2, 3))
    turn = shortest(first, second)
    assert np.allclose(turn @ first / np.linalg.norm(first), second / np.linalg.norm(second), atol=1e-12)
    cosine = first @ second / np.linalg.norm(first) / np.linalg.norm(second)
    assert np.trace(turn) == pytest.approx(1 + 2 * cosine, abs=1e-9)


@pytest.mark.parametrize("direction", [(0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.3, -0.4, 0.5)])
def test_shortest_turn_between_opposite_directions_is_a_half_turn(direction: tuple[float, float, float]) -> None:
    first = np.array(direction)
    turn = shortest(first, -first)
    assert np.allclose(turn @ first, -first, atol=1e-12)
    assert np.linalg.det(turn) == pytest.approx(1)


def test_axis_without_length_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`axis` must be finite and not zero"):
        about((0, 0, 0), 20)


@settings(max_examples=15)
@given(SEEDS)
def test_turns_about_axes_of_the_body_do_not_depend_on_the_joints_own_axes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    turns = {int(joint): Rotation.random(rng=rng).as_matrix() for joint in rng.choice(41, 6, replace=False)}
    odd = with_odd_axes(keeper(), seed=seed)
    carried = worlds_of(odd, turns) @ odd.inverse_bind
    assert np.abs(carried - worlds_of(keeper(), turns) @ keeper().inverse_bind).max() < 1e-12


def test_turn_of_one_joint_turns_all_below_it_about_its_place() -> None:
    joint = keeper().names.index("forearm_l")
    turn = about((0, -1, 0.6), 70)
    carried = worlds_of(keeper(), {joint: turn}) @ keeper().inverse_bind
    place = keeper().positions[joint]
    wanted = np.eye(4)
    wanted[:3, :3], wanted[:3, 3] = turn, place - turn @ place
    for name, moved in zip(keeper().names, carried):
        part = name.removesuffix("_l").rstrip("_12")
        below = name.endswith("_l") and part in {"forearm", "hand", "thumb", "index", "middle", "ring", "little"}
        assert np.allclose(moved, wanted if below else np.eye(4), atol=1e-12), name


def test_turns_by_quaternions_of_unturned_joints_agree() -> None:
    """A second way: `turned_worlds`, which turns nodes about their own axes; the keeper's are those of the body."""
    quaternion = Rotation.from_euler("xyz", [20, -50, 10], degrees=True)
    wanted = turned_worlds(keeper(), {"shin_r": list(quaternion.as_quat())})
    made = worlds_of(keeper(), {keeper().names.index("shin_r"): quaternion.as_matrix()})
    assert np.abs(made - wanted).max() < 1e-14


def test_turned_node_keeps_its_scale_along_its_own_axes() -> None:
    """What an engine holds of a node is translation, rotation and scale [glTF2 3.5.3]: the product has no shear."""
    worlds = np.stack([np.eye(4), np.diag([2.0, 1.0, 0.5, 1.0])])
    scaled = remodelled(Skeleton(("upper", "lower"), np.array([-1, 0]), worlds, worlds), worlds)
    turned = turned_locals(scaled, {1: about((0.2, 1, 0.3), 40)}, modelled_locals(scaled))[1, :3, :3]
    assert np.allclose(np.linalg.norm(turned, axis=0), (2.0, 1.0, 0.5), atol=1e-12)
    unit = turned / np.linalg.norm(turned, axis=0)
    assert np.allclose(unit.T @ unit, np.eye(3), atol=1e-12)


def test_mirrored_turn_mirrors_what_it_turns() -> None:
    turn = about((0.3, 0.5, -0.2), 50)
    point, flip = np.array([0.1, 0.7, 0.4]), np.array([-1.0, 1.0, 1.0])
    assert np.allclose(mirrored(turn) @ (flip * point), flip * (turn @ point), atol=1e-15)
