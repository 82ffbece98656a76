"""Joints whose places follow the morphs: a taller morph lifts the head's joint, so that it turns about the new place.

The places are affine in the weights, J(w) = J + Σ w_k δ_k; bind pose and pose both have them, so without a turn nothing
moves but the morph. With D_j the linear part of a joint's transform at a stance, t its place there and p its parent,

    δt_j = δt_p + D_p (δ_j - δ_p)          x(w) = A (X + Σ w_k D_k) + Σ w_k c_k,    c_k = Σ_j w_j (δt_jk - D_j δ_jk)

so the posed mesh stays affine in the weights: a stance only adds c_k to what it makes of each morph. Proof:
tests/body/stances/test_following_joints.py
"""

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance

JointMoves = Float[np.ndarray, "K J 3"]
"""How far each joint goes with each morph at weight 1, metres, in axes of the body."""


def joint_offsets(stance: Stance, skin: Skin, skeleton: Skeleton, moves: JointMoves) -> Float[np.ndarray, "K V 3"]:
    """What each morph at weight 1 moves a vertex further at a stance, because joints follow it, (K, V, 3), metres.

    Args:
        stance: The stance, made with the joints at their places on the base body.
        skin: Of body or cloth.
        skeleton: The joints.
        moves: How the joints follow the morphs.
    """
    linear = (stance.worlds @ skeleton.inverse_bind)[:, :3, :3]
    placed = moves.copy()
    for joint, parent in enumerate(skeleton.parents):
        if parent >= 0:
            placed[:, joint] = placed[:, parent] + (moves[:, joint] - moves[:, parent]) @ linear[parent].T
    left = placed - np.einsum("jxy,kjy->kjx", linear, moves)
    return np.einsum("vn,kvnx->kvx", skin.weights, left[:, skin.joints])
