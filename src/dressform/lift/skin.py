"""Lifting of skin weights, so that the cloth poses like the body under it."""

import numpy as np

from dressform.body.skeleton import Skin
from dressform.lift.lift import Lift


def lift_skin(lift: Lift, skin: Skin) -> Skin:
    """The body's joint weights at the cloth's vertices: the four largest of each, non-negative, sum one."""
    used = np.unique(skin.joints[skin.weights > 0])
    joint_count = int(skin.joints.max()) + 1
    dense = np.zeros((lift.count, joint_count))
    dense[:, used] = lift.shares(skin.dense(joint_count)[:, used])
    return Skin.from_dense(dense)
