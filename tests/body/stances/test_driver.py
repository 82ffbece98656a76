"""The driver of a corrective target: the turn of one joint about one axis, against closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from dressform.body.pose import turned_worlds
from dressform.body.skeleton import Skeleton
from dressform.body.stances.driver import Driver, modelled_turn
from dressform.errors import ArgumentError, MatchError

KNOTS = ((np.radians(80.0), 0.0), (np.radians(140.0), 1.0))


def odd_skeleton(seed: int = 3) -> Skeleton:
    """Three joints in a row, each turned and scaled any way in the modelled pose."""
    rng = np.random.default_rng(seed)
    rest = np.tile(np.eye(4), (3, 1, 1))
    for joint in range(3):
        rest[joint, :3, :3] = Rotation.random(random_state=joint + seed).as_matrix() * rng.uniform(0.8, 1.2, 3)
        rest[joint, :3, 3] = rng.normal(size=3)
    plain = Skeleton(("a", "b", "c"), np.array([-1, 0, 1]), rest, np.tile(np.eye(4), (3, 1, 1)))
    return replace(plain, inverse_bind=np.linalg.inv(plain.world()))


def driver(axis: np.ndarray, skeleton: Skeleton, joint: int = 1) -> Driver:
    return Driver(joint, axis / np.linalg.norm(axis), modelled_turn(skeleton, joint), KNOTS)


@pytest.mark.parametrize("degrees", [-170.0, -60.0, 0.0, 35.0, 110.0, 179.0])
def test_angle_about_the_axis_is_the_angle_that_the_joint_was_turned_by(degrees: float) -> None:
    skeleton, axis = odd_skeleton(), np.array([0.3, -0.8, 0.5])
    one = driver(axis, skeleton)
    turn = Rotation.from_rotvec(np.radians(degrees) * one.axis).as_quat()
    for sign in (1.0, -1.0):  # both quaternions are one rotation
        angle, certain = one.twist(skeleton, turned_worlds(skeleton, {"b": (sign * turn).tolist()}))
        assert angle == pytest.approx(np.radians(degrees), abs=1e-9)
        assert certain == pytest.approx(1.0)


def test_turn_across_the_axis_sets_nothing_and_makes_the_angle_less_certain() -> None:
    """A swing by β about a perpendicular axis leaves the twist at 0, of length cos β/2."""
    skeleton, axis = odd_skeleton(), np.array([0.0, 0.0, 1.0])
    one = driver(axis, skeleton)
    swing = Rotation.from_rotvec([np.radians(100.0), 0.0, 0.0]).as_quat().tolist()
    angle, certain = one.twist(skeleton, turned_worlds(skeleton, {"b": swing}))
    assert angle == pytest.approx(0.0, abs=1e-9)
    assert certain == pytest.approx(np.cos(np.radians(50.0)))


def test_joints_above_and_scale_do_not_drive() -> None:
    skeleton = odd_skeleton()
    one = driver(np.array([1.0, 2.0, 3.0]), skeleton)
    turn = Rotation.from_rotvec([0.4, 0.9, -0.2]).as_quat().tolist()
    assert one.at(skeleton, turned_worlds(skeleton, {"a": turn})) == 0.0
    assert one.twist(skeleton, turned_worlds(skeleton, {"a": turn}))[0] == pytest.approx(0.0, abs=1e-9)


def test_value_goes_straight_between_knots_and_stays_beyond() -> None:
    one = driver(np.array([1.0, 0.0, 0.0]), odd_skeleton())
    for degrees, value in ((0.0, 0.0), (80.0, 0.0), (110.0, 0.5), (140.0, 1.0), (170.0, 1.0)):
        assert one.value(np.radians(degrees)) == pytest.approx(value)
    assert one.slope == pytest.approx(1 / np.radians(60.0))


@pytest.mark.parametrize("seed", range(20))
def test_most_change_is_the_most_that_samples_find(seed: int) -> None:
    rng = np.random.default_rng(seed)
    angles, values = np.sort(rng.uniform(-1, 2, 5)), rng.uniform(0, 1, 5)
    one = Driver(1, np.eye(3)[0], np.eye(4)[3], tuple(zip(angles.tolist(), values.tolist())))
    middle, reach = rng.uniform(-1.5, 2.5), rng.uniform(0, 1.5)
    seen = [abs(one.value(at) - one.value(middle)) for at in np.linspace(middle - reach, middle + reach, 4001)]
    assert one.most_change(middle, reach) == pytest.approx(max(seen), abs=1e-2)
    assert one.most_change(middle, reach) >= max(seen) - 1e-12


@pytest.mark.parametrize(
    ("what", "told"),
    [
        ({"axis": np.array([1.0, 1.0, 0.0])}, "`axis` must be of length 1"),
        ({"bind": np.array([0.0, 0.0, 0.0, 2.0])}, "`bind` must be of length 1"),
        ({"knots": ((1.0, 0.0), (1.0, 1.0))}, "`knots` must be at angles that rise"),
        ({"knots": ((1.0, 0.0), (2.0, 1.5))}, "`knots` must be of values from 0 to 1"),
    ],
)
def test_driver_that_cannot_be_is_refused(what: dict[str, object], told: str) -> None:
    with pytest.raises(ArgumentError, match=told):
        replace(driver(np.array([1.0, 0.0, 0.0]), odd_skeleton()), **what)


def test_joint_without_a_parent_drives_nothing() -> None:
    skeleton = odd_skeleton()
    with pytest.raises(MatchError, match="`joint` must have a parent"):
        driver(np.eye(3)[0], skeleton, joint=0).at(skeleton, skeleton.world())
