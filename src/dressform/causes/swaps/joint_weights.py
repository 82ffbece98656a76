"""Joint weights: the swap takes them from the skin under the cloth, or puts stiff parts on one joint.

Rest does not change by it: only how the joints carry the cloth at a stance. Several kinds of weights are measured, and
the swap is the one that leaves least of the fault.
"""

from collections.abc import Mapping

import numpy as np

from dressform.body.skeleton import Skin
from dressform.body.stance import carry
from dressform.causes.evidence import OF
from dressform.causes.patch import Patch

WORDS = "its joint weights taken from the skin instead, or a stiff part put on one joint, whichever helps most"
MIN_MOVE = 0.001
"""Other weights that carry the cloth at the cluster no farther than this apart say nothing, metres."""
LEAST_SHARE = 0.02
"""Joints with a smaller share are not named."""


def matters(patch: Patch) -> bool:
    """Whether the cluster is at a stance, and other weights would carry its cloth elsewhere."""
    return bool(alternatives(patch))


def alternatives(patch: Patch) -> Mapping[str, Skin]:
    """Other joint weights of the patch by kind, of those that carry the cloth at the cluster elsewhere."""
    skeleton = patch.context.body.skeleton
    if patch.stance is None or patch.fit.skin is None or skeleton is None:
        return {}
    cloth = patch.fit.at(patch.weights)[patch.near]
    here = carry(patch.stance.maps(patch.fit.skin.at(np.flatnonzero(patch.near)), skeleton), cloth)
    found = {}
    for kind, skin in patch.worn.joint_skins.items():
        mine = skin.at(patch.vertices)
        there = carry(patch.stance.maps(mine.at(np.flatnonzero(patch.near)), skeleton), cloth)
        if np.linalg.norm(there - here, axis=1).max(initial=0.0) > MIN_MOVE:
            found[kind] = mine
    return found


def figures(patch: Patch) -> dict[str, float]:
    """Where the two carry the cloth farthest apart: how far, and the shares of the joints in cloth and skin."""
    body, stance, skin = patch.context.body, patch.stance, patch.fit.skin
    near = np.flatnonzero(patch.near)
    if body.skeleton is None or stance is None or skin is None or not near.size:
        return {}
    points, names = patch.fit.at(patch.weights)[near], body.skeleton.names
    cloth, under = skin.at(near), patch.worn.skin_weights.at(patch.vertices[near])
    one, two = (carry(stance.maps(each, body.skeleton), points) for each in (cloth, under))
    apart = np.linalg.norm(one - two, axis=1)
    worst = np.array([int(np.argmax(apart))])
    found = {"joints_part": float(apart[worst[0]])}
    shares = [each.at(worst).dense(len(names))[0] for each in (cloth, under)]
    for joint in np.flatnonzero(np.maximum(*shares) >= LEAST_SHARE):
        found["cloth_joint" + OF + names[joint]] = float(shares[0][joint])
        found["skin_joint" + OF + names[joint]] = float(shares[1][joint])
    return found
