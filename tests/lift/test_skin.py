"""Joint weights at the cloth: the four largest of the body's, scaled to sum to one."""

import numpy as np
import pytest

from dressform.body.skeleton import Skin
from dressform.garment.following import METHODS, Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from dressform.lift.skin import lift_skin
from lift_phantoms import body_of, tube

WEIGHTS = np.array([0.05, 0.4, 0.1, 0.3, 0.15])


@pytest.mark.parametrize("method", METHODS)
def test_of_five_joints_the_four_largest_are_kept_and_scaled_to_one(method: str) -> None:
    body = body_of(tube(0.12, 0.4, 0.02))
    garment = Garment.of("sleeve", *tube(0.14, 0.3, 0.02, twist=0.1))
    count = len(body.vertices)
    skin = Skin(np.tile(np.arange(5), (count, 1)), np.tile(WEIGHTS, (count, 1)))
    lifted = lift_skin(make_lift(body, garment, Following(method=method)), skin)
    expected = np.where(WEIGHTS > 0.05, WEIGHTS, 0) / 0.95
    assert np.allclose(lifted.dense(5), expected, atol=1e-9)
    assert lifted.joints.shape == (len(garment.vertices), 4)


def test_each_end_of_a_tube_follows_the_joint_of_its_own_end() -> None:
    """Joint 3 holds the upper half and joint 1 the lower; the joints that hold nothing stay without weight."""
    body = body_of(tube(0.12, 0.4, 0.02))
    garment = Garment.of("sleeve", *tube(0.14, 0.3, 0.02, twist=0.1))
    joints = np.where(body.vertices[:, 1] > 0, 3, 1)[:, None]
    lifted = lift_skin(make_lift(body, garment, Following(method="surface")), Skin(joints, np.ones(joints.shape)))
    dense, height = lifted.dense(5), garment.vertices[:, 1]
    assert np.allclose(dense[height > 0.03], np.eye(5)[3])
    assert np.allclose(dense[height < -0.03], np.eye(5)[1])
