"""How fast joints can move against each other between two keys of an animation."""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float

from dressform.body.pose import LINEAR, ROTATION, SCALE, STEP, TRANSLATION, Animation

UNCHANGED = 1e-9
"""Values that differ by less than this at both ends of an interval do not move."""


@dataclass(frozen=True, eq=False)
class JointSpeeds:
    """Bounds that hold between two moments.

    Attributes:
        turning: Angular speed of each joint as each other sees it, (J, J), radians a second.
        moving: Speed of the pivot of joint j as joint k sees it, at [j, k], (J, J), metres a second.
    """

    turning: Float[np.ndarray, "J J"]
    moving: Float[np.ndarray, "J J"]


def joint_speeds(animation: Animation, start: float, end: float) -> JointSpeeds | None:
    """Bounds of how fast joints move against each other between two neighbouring keys; None where there are none.

    Between two keys a rotation that is interpolated as glTF asks turns at an even speed, and a translation moves at an
    even speed [glTF2 appendix C]. As joint k sees it, the pivot of joint j moves by every node on the path between
    them, each at its angular speed times the distance from its own pivot along the bones, which keep their lengths.
    Cubic splines and moving scales have no bound here.

    Source: sums of angular speeds times reach, as in conservative advancement. Proof: tests/proof/test_clip.py
    """
    span, tree = end - start, animation.tree
    count = len(tree.parents)
    turning, sliding = np.zeros(count), np.zeros(count)
    for track in animation.tracks:
        first, last = track.at(start), track.at(end)
        if track.mode == STEP or np.abs(first - last).max() < UNCHANGED:
            continue
        if track.mode != LINEAR or track.path == SCALE:
            return None
        if track.path == ROTATION:
            cosine = abs(float(first @ last)) / float(np.linalg.norm(first) * np.linalg.norm(last))
            turning[track.node] = 2.0 * np.arccos(min(cosine, 1.0)) / span
        elif track.path == TRANSLATION:
            sliding[track.node] = float(np.linalg.norm(last - first)) / span
    nodes = replace(animation, tree=replace(tree, joints=np.arange(count)))
    ends = [nodes.worlds(start), nodes.worlds(end - UNCHANGED * span)]
    bones, size = np.zeros(count), float(np.cbrt(np.linalg.det(tree.frame[:3, :3])))
    for node, parent in enumerate(tree.parents):
        if parent >= 0:
            bones[node] = max(float(np.linalg.norm(world[node, :3, 3] - world[parent, :3, 3])) for world in ends)
            sliding[node] *= size * float(np.linalg.norm(ends[0][parent, :3, :3], 2))
        else:
            sliding[node] *= size
    return _between_joints(animation, turning, sliding, bones)


def _between_joints(
    animation: Animation,
    turning: Float[np.ndarray, " N"],
    sliding: Float[np.ndarray, " N"],
    bones: Float[np.ndarray, " N"],
) -> JointSpeeds:
    """Sums over the nodes on the path between every two joints."""
    tree, joints = animation.tree, animation.tree.joints
    above = []
    for node in joints:
        line = [int(node)]
        while tree.parents[line[-1]] >= 0:
            line.append(int(tree.parents[line[-1]]))
        above.append(line)
    angles, speeds = np.zeros((len(joints), len(joints))), np.zeros((len(joints), len(joints)))
    for j, own in enumerate(above):
        for k, other in enumerate(above):
            shared = set(own) & set(other)
            down = [node for node in own if node not in shared]  # from j up to below the common node
            up = [node for node in other if node not in shared]
            reach = 0.0
            for node in down:
                angles[j, k] += turning[node]
                speeds[j, k] += turning[node] * reach + sliding[node]
                reach += bones[node]
            for node in reversed(up):
                reach += bones[node]
                angles[j, k] += turning[node]
                speeds[j, k] += turning[node] * reach + sliding[node]
    return JointSpeeds(angles, speeds)
