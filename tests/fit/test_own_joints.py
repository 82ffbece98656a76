"""A garment's own joints are the body's by name; what the body lacks goes to the joint above, and is named."""

import numpy as np
import pytest

from dressform.body.skeleton import Skeleton
from dressform.errors import MatchError
from dressform.fit.own_joints import match_joints, matching_notes
from dressform.garment.own_joints import OwnJoints

NAMES = ("root", "spine", "arm_l", "hand_l")
SKELETON = Skeleton(NAMES, np.array([-1, 0, 1, 2]), np.tile(np.eye(4), (4, 1, 1)), np.tile(np.eye(4), (4, 1, 1)))


def own(names: tuple[str, ...], parents: list[int], weights: list[list[float]], *, hangs: bool = False) -> OwnJoints:
    dense = np.array(weights, dtype=np.float64)
    joints = np.tile(np.arange(len(names)), (len(dense), 1))
    return OwnJoints(names, np.array(parents), joints, dense, hangs)


def test_joints_are_matched_by_name_in_any_order_and_under_any_prefix() -> None:
    matched = match_joints(own(("rig:HAND_L", "Arm_L", "spine"), [1, 2, -1], [[0.5, 0.3, 0.2]]), SKELETON)
    assert np.allclose(matched.dense, [[0.0, 0.2, 0.3, 0.5]])
    assert matched.share == 1.0
    assert matched.is_usable
    assert matched.moved == matched.lost == ()


def test_joint_that_the_body_lacks_gives_its_weight_to_the_joint_above() -> None:
    matched = match_joints(own(("arm_l", "twist", "cuff"), [-1, 0, 1], [[0.6, 0.3, 0.1]]), SKELETON)
    assert np.allclose(matched.dense, [[0.0, 0.0, 1.0, 0.0]])
    assert matched.moved == (("twist", "arm_l"), ("cuff", "arm_l"))
    assert any("twist (now arm_l), cuff (now arm_l)" in note for note in matching_notes(matched, SKELETON))


def test_joint_with_none_of_the_bodys_above_it_leaves_its_weight_to_the_others() -> None:
    matched = match_joints(own(("sash", "hand_l"), [-1, 0], [[0.25, 0.75], [1.0, 0.0]]), SKELETON)
    assert np.allclose(matched.dense, [[0, 0, 0, 1], [0, 0, 0, 0]])
    assert matched.lost == ("sash",)
    notes = " ".join(matching_notes(matched, SKELETON))
    assert "none of the body's above them: sash." in notes
    assert "1 of 2 vertices have no joint of the body's" in notes


def test_weights_of_another_skeleton_are_not_used() -> None:
    assert not match_joints(own(("keel", "mast", "arm_l"), [-1, 0, 1], [[0.4, 0.3, 0.3]]), SKELETON).is_usable


def test_mesh_that_hangs_on_a_joint_follows_it_and_one_on_the_root_does_not() -> None:
    hung = match_joints(own(("root", "hand_l", "holder"), [-1, 0, 1], [[0, 0, 1]], hangs=True), SKELETON)
    assert np.allclose(hung.dense, [[0, 0, 0, 1]])
    assert hung.is_usable
    assert matching_notes(hung, SKELETON) == ("It hangs on hand_l in its file and follows that joint wholly.",)
    assert not match_joints(own(("root",), [-1], [[1.0]], hangs=True), SKELETON).is_usable


def test_joints_that_are_not_there_are_refused() -> None:
    with pytest.raises(MatchError, match="`joints` must be indices below 1"):
        OwnJoints(("a",), np.array([-1]), np.array([[1]]), np.array([[1.0]]))
