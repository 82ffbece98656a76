"""Lifting of fields that must stay non-negative and sum to one: skin weights and masks."""

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skin
from dressform.lift.lift import Lift


def lift_shares(lift: Lift, shares: Float[np.ndarray, "B C"]) -> Float[np.ndarray, "G C"]:
    """Non-negative fields that sum to one over their columns, carried to the cloth with both kept, (G, C).

    The smooth lift undershoots a little beside a steep step, as every fair curve through a step does; what falls below
    zero is cut off and the row is scaled to sum to one again.
    """
    lifted = np.clip(lift.apply(shares), 0.0, None)
    return lifted / lifted.sum(axis=1, keepdims=True)


def lift_skin(lift: Lift, skin: Skin) -> Skin:
    """The body's joint weights at the cloth's vertices: the four largest of each, non-negative, sum one."""
    used = np.unique(skin.joints[skin.weights > 0])
    joint_count = int(skin.joints.max()) + 1
    shares = np.zeros((lift.count, joint_count))
    shares[:, used] = lift_shares(lift, skin.dense(joint_count)[:, used])
    return Skin.from_dense(shares)
