"""Joints are known by their names, however a skeleton writes them."""

import numpy as np
import pytest

from dressform.body.measure_landmarks import named_joints
from dressform.body.skeleton import Skeleton


def skeleton(*names: str) -> Skeleton:
    """Joints in a row, one metre apart, all children of the first."""
    rest = np.tile(np.eye(4), (len(names), 1, 1))
    rest[:, 0, 3] = np.arange(len(names))
    return Skeleton(names, np.where(np.arange(len(names)) == 0, -1, 0), rest, np.linalg.inv(rest))


@pytest.mark.parametrize(
    "names",
    [
        ("root", "upper_arm_l", "forearm_r", "shin_l"),
        ("root", "upperarm_l", "lowerarm_r", "calf_l"),
        ("Root", "UpperArm.L", "LowerArm.R", "LowerLeg.L"),
        ("root", "LeftUpperArm", "RightForeArm", "LeftLowerLeg"),
    ],
)
def test_shoulder_elbow_and_knee_are_found_in_every_way_of_writing(names: tuple[str, ...]) -> None:
    found = named_joints(skeleton(*names))
    assert {key: place.tolist() for key, place in found.items()} == {
        ("shoulder", "left"): [1, 0, 0],
        ("elbow", "right"): [2, 0, 0],
        ("knee", "left"): [3, 0, 0],
    }


def test_joints_that_only_resemble_them_are_not_taken() -> None:
    assert named_joints(skeleton("root", "forearm_twist_l", "calf_muscle_r", "arm_l", "shin")) == {}
