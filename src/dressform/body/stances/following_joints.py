"""Joints whose places follow the morphs: a taller morph lifts the head's joint, so that it turns about the new place.

The places are affine in the weights, J(w) = J + Σ w_k δ_k; bind pose and pose both have them, so without a turn nothing
moves but the morph. With D_j the linear part of a joint's transform at a stance, t its place there and p its parent,

    δt_j = δt_p + D_p (δ_j - δ_p)          x(w) = A (X + Σ w_k D_k) + Σ w_k c_k,    c_k = Σ_j w_j (δt_jk - D_j δ_jk)

so the posed mesh stays affine in the weights: a stance only adds c_k to what it makes of each morph. Proof:
tests/body/stances/test_following_joints.py
"""

from dataclasses import replace

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance

JointMoves = Float[np.ndarray, "K J 3"]
"""How far each joint goes with each morph at weight 1, metres, in axes of the body."""


def joint_shifts(stance: Stance, skeleton: Skeleton, moves: JointMoves) -> Float[np.ndarray, "K J 3"]:
    """What each morph at weight 1 adds to the place of each joint's transform, δt - D δ, metres, (K, J, 3).

    Args:
        stance: The stance, made with the joints at their places on the base body.
        skeleton: The joints.
        moves: How the joints follow the morphs.
    """
    linear = (stance.worlds @ skeleton.inverse_bind)[:, :3, :3]
    placed = moves.copy()
    for joint, parent in enumerate(skeleton.parents):
        if parent >= 0:
            placed[:, joint] = placed[:, parent] + (moves[:, joint] - moves[:, parent]) @ linear[parent].T
    return placed - np.einsum("jxy,kjy->kjx", linear, moves)


def joint_offsets(stance: Stance, skin: Skin, skeleton: Skeleton, moves: JointMoves) -> Float[np.ndarray, "K V 3"]:
    """What each morph at weight 1 moves a vertex further at a stance, because joints follow it, (K, V, 3), metres.

    Args:
        stance, skeleton, moves: As for `joint_shifts`.
        skin: Of body or cloth.
    """
    return np.einsum("vn,kvnx->kvx", skin.weights, joint_shifts(stance, skeleton, moves)[:, skin.joints])


def stance_on(stance: Stance, skeleton: Skeleton, moves: JointMoves | None, weights: Weights) -> Stance:
    """The stance on one shape: the joints stand where they followed its morphs to.

    With the inverse bind matrices of the base body it carries vertices as joints and bind matrices of this shape do.
    """
    if moves is None or not moves.any():
        return stance
    worlds = stance.worlds.copy()
    worlds[:, :3, 3] += np.tensordot(weights, joint_shifts(stance, skeleton, moves), axes=1)
    return replace(stance, worlds=worlds)
