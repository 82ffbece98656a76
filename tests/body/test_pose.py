"""Poses agree with closed forms: splines, turns, chains of joints, and the skin's own sum."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.body.pose import (
    CUBIC,
    LINEAR,
    ROTATION,
    STEP,
    TRANSLATION,
    Animation,
    NodeTree,
    Poser,
    Track,
    slerp,
    turned_worlds,
)
from dressform.body.skeleton import Skeleton, Skin
from dressform.errors import ArgumentError

TIMES = np.array([0.5, 1.5, 4.0])
TURN_Z = [0.0, 0.0, float(np.sin(np.pi / 4)), float(np.cos(np.pi / 4))]
ANGLES = st.floats(-3.1, 3.1)


def about_z(angle: float) -> np.ndarray:
    return np.array([0.0, 0.0, np.sin(angle / 2), np.cos(angle / 2)])


def moved(x: float, y: float, z: float) -> np.ndarray:
    matrix = np.eye(4)
    matrix[:3, 3] = (x, y, z)
    return matrix


def arm() -> Skeleton:
    """A shoulder at the origin and an elbow one metre to the side."""
    rest = np.stack([np.eye(4), moved(1, 0, 0)])
    return Skeleton(("shoulder", "elbow"), np.array([-1, 0]), rest, np.linalg.inv(rest))


def tree(*, frame: np.ndarray | None = None) -> NodeTree:
    return NodeTree(
        parents=np.array([-1, 0]),
        translations=np.array([[0.0, 0, 0], [1, 0, 0]]),
        rotations=np.array([[0.0, 0, 0, 1], [0, 0, 0, 1]]),
        scales=np.ones((2, 3)),
        matrices=np.tile(np.eye(4), (2, 1, 1)),
        fixed=np.zeros(2, dtype=bool),
        joints=np.array([0, 1]),
        frame=np.eye(4) if frame is None else frame,
    )


def test_linear_keys_are_joined_by_straight_lines():
    values = np.array([[0.0, 0, 0], [2, -4, 6], [7, 6, 1]])
    track = Track(0, TRANSLATION, TIMES, values, LINEAR)
    np.testing.assert_allclose(track.at(0.75), [0.5, -1, 1.5])
    np.testing.assert_allclose(track.at(1.5), values[1])
    np.testing.assert_allclose(track.at(2.75), [4.5, 1, 3.5])


def test_step_keys_hold_until_the_next():
    track = Track(0, TRANSLATION, TIMES, np.eye(3), STEP)
    for time, key in ((0.5, 0), (1.4999, 0), (1.5, 1), (3.9, 1), (4.0, 2)):
        np.testing.assert_array_equal(track.at(time), np.eye(3)[key])


@pytest.mark.parametrize("mode", [LINEAR, STEP])
def test_before_the_first_key_and_after_the_last_nothing_moves(mode):
    track = Track(0, TRANSLATION, TIMES, np.eye(3), mode)
    np.testing.assert_array_equal(track.at(0.0), np.eye(3)[0])
    np.testing.assert_array_equal(track.at(99.0), np.eye(3)[2])


def test_a_cubic_spline_with_true_tangents_is_the_cubic():
    coefficients = np.array([[0.3, -1, 2], [1, 0.5, -0.2], [-0.7, 0.1, 0.4], [0.2, -0.3, 0.1]])

    def cubic(time: float) -> np.ndarray:
        return np.array([1, time, time**2, time**3]) @ coefficients

    def slope(time: float) -> np.ndarray:
        return np.array([0, 1, 2 * time, 3 * time**2]) @ coefficients

    values = np.concatenate([[slope(time), cubic(time), slope(time)] for time in TIMES])
    track = Track(0, TRANSLATION, TIMES, values, CUBIC)
    for time in np.linspace(TIMES[0], TIMES[-1], 23):
        np.testing.assert_allclose(track.at(float(time)), cubic(time), atol=1e-12)


def test_turns_of_a_cubic_spline_stay_turns():
    keys = np.stack([about_z(angle) for angle in (0.0, 1.0, 2.5)])
    values = np.concatenate([[np.full(4, 0.2), key, np.full(4, -0.3)] for key in keys])
    track = Track(0, ROTATION, TIMES, values, CUBIC)
    for time in np.linspace(0, 5, 17):
        assert np.linalg.norm(track.at(float(time))) == pytest.approx(1, abs=1e-12)


@given(ANGLES, ANGLES, st.floats(0, 1))
def test_between_two_turns_about_one_axis_the_angle_is_the_mean(first, second, share):
    if abs(second - first) > np.pi:  # the shorter way leads round the other side
        return
    turned = slerp(about_z(first), about_z(second), share)
    wanted = about_z((1 - share) * first + share * second)
    assert min(np.abs(turned - wanted).max(), np.abs(turned + wanted).max()) < 1e-6


def test_opposite_quaternions_are_the_same_turn():
    np.testing.assert_allclose(slerp(about_z(0.4), -about_z(1.2), 0.5), about_z(0.8), atol=1e-12)


def test_turning_the_shoulder_carries_the_elbow_and_turns_it():
    worlds = turned_worlds(arm(), {"shoulder": TURN_Z})
    np.testing.assert_allclose(worlds[1, :3, 3], [0, 1, 0], atol=1e-12)
    np.testing.assert_allclose(worlds[1, :3, 0], [0, 1, 0], atol=1e-12)


def test_turns_of_any_length_mean_the_same():
    once = turned_worlds(arm(), {"elbow": TURN_Z})
    np.testing.assert_allclose(turned_worlds(arm(), {"elbow": [5 * part for part in TURN_Z]}), once, atol=1e-12)


def test_without_turns_the_joints_rest():
    np.testing.assert_allclose(turned_worlds(arm(), {}), arm().world())


def test_an_unknown_joint_is_refused_and_the_joints_listed():
    with pytest.raises(ArgumentError, match="named as the joints: shoulder, elbow, got 'knee'"):
        turned_worlds(arm(), {"knee": TURN_Z})


@pytest.mark.parametrize("turn", [[0.0, 0.0, 0.0, 0.0], [np.inf, 0.0, 0.0, 1.0], [np.nan, 0.0, 0.0, 1.0]])
def test_a_turn_without_length_is_refused(turn):
    with pytest.raises(ArgumentError, match="`turns` must be finite and not zero"):
        turned_worlds(arm(), {"elbow": turn})


def test_an_animation_turns_what_hangs_below():
    track = Track(0, ROTATION, np.array([1.0, 3.0]), np.stack([about_z(0.0), about_z(np.pi / 2)]))
    animation = Animation("wave", tree(), (track,))
    assert animation.duration == 3.0
    np.testing.assert_array_equal(animation.times, [1.0, 3.0])
    half = np.sqrt(0.5)
    np.testing.assert_allclose(animation.worlds(2.0)[1, :3, 3], [half, half, 0], atol=1e-12)
    np.testing.assert_allclose(animation.worlds(0.0), arm().world(), atol=1e-12)


def test_an_animation_in_centimetres_with_z_up_stands_in_metres_with_y_up():
    frame = np.diag([0.01, 0.01, 0.01, 1.0]) @ np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]])
    track = Track(1, TRANSLATION, np.array([0.0]), np.array([[10.0, 20.0, 150.0]]))
    worlds = Animation("stand", tree(frame=frame), (track,)).worlds(0.0)
    np.testing.assert_allclose(worlds[1, :3, 3], [0.1, 1.5, -0.2], atol=1e-12)
    np.testing.assert_allclose(np.linalg.det(worlds[:, :3, :3]), 1.0)


def test_a_node_given_as_a_matrix_keeps_it():
    rest = tree()
    rest.matrices[1] = moved(3, 4, 5)
    rest.fixed[1] = True
    np.testing.assert_allclose(rest.joint_worlds([])[1], moved(3, 4, 5))


def test_posing_fast_agrees_with_the_skin():
    rng = np.random.default_rng(8)
    skeleton = arm()
    skin = Skin.from_dense(rng.uniform(0, 1, (400, 2)) * (rng.random((400, 2)) < 0.8) + 1e-3)
    vertices = rng.uniform(-1, 2, (400, 3))
    poser = Poser(skin, skeleton.inverse_bind)
    for seed in range(20):
        turns = {name: np.random.default_rng(seed).normal(size=4).tolist() for name in skeleton.names}
        worlds = turned_worlds(skeleton, turns)
        wanted = skin.pose(vertices, worlds @ skeleton.inverse_bind)
        assert np.abs(poser.at(vertices.astype(np.float32), worlds) - wanted).max() < 1e-5
