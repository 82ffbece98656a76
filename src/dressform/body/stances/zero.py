"""The zero pose of joint motion: upright, arms and legs hanging, palms to the thighs, fingers straight.

Tables of joint motion count from there [Norkin2016], bodies are modelled with their arms out. So each joint has a turn
that carries its bone from the modelled pose to the zero pose, and a motion of the table is made between the two.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from jaxtyping import Float

from dressform.body.stances.human import SIDES, HumanJoints
from dressform.body.stances.limbs import FINGERS
from dressform.body.stances.tree import Place
from dressform.body.stances.turns import Turn, about, modelled_worlds, shortest

DOWN = np.array([0.0, -1.0, 0.0])
FRONT = np.array([0.0, 0.0, 1.0])
DIGITS = ("thumb", *FINGERS)
FLAT = 1e-9


@dataclass(frozen=True)
class ZeroPose:
    """How the modelled pose goes over into the zero pose.

    Attributes:
        human: The joints.
        carried: Turn of each joint's bone from the modelled pose to the zero pose, in axes of the body, (J, 3, 3).
        digit_axes: Axis about which the joints of each finger and thumb flex, in axes of the zero pose, by
            `left_index` and so on.
    """

    human: HumanJoints
    carried: Float[np.ndarray, "J 3 3"]
    digit_axes: dict[str, Place]

    def between(self, joint: int, motion: Turn) -> Turn:
        """Turn of a joint from the modelled pose that makes a motion from the zero pose.

        With F the turn of a bone to the zero pose, and everything above at zero, the bone must be carried by R F: so
        the joint turns by F_above⁻¹ R F. Where the bones above stand otherwise they carry the joint along.
        """
        parent = int(self.human.skeleton.parents[joint])
        above = np.eye(3) if parent < 0 else self.carried[parent]
        return above.T @ motion @ self.carried[joint]


def zero_pose(human: HumanJoints) -> ZeroPose:
    """The turns between modelled pose and zero pose; trunk, neck, head, collars and feet are taken as upright."""
    own: dict[int, Turn] = {}
    axes: dict[str, Place] = {}
    for side in SIDES:
        _hang(human, own, [f"{side}_hip", f"{side}_knee", f"{side}_ankle"])
        _hang(human, own, [f"{side}_shoulder", f"{side}_elbow", f"{side}_wrist"])
        own |= {human.joints[part]: np.eye(3) for part in (f"{side}_ankle", f"{side}_toes") if part in human.joints}
        _straighten_hand(human, own, axes, side)
    carried = np.tile(np.eye(3), (len(human.skeleton.names), 1, 1))
    for joint, parent in enumerate(human.skeleton.parents):
        carried[joint] = own.get(joint, carried[parent] if parent >= 0 else np.eye(3))
    return ZeroPose(human, carried, axes)


def _place(human: HumanJoints, part: str) -> Place:
    return modelled_worlds(human.skeleton)[human.joints[part], :3, 3]


def _hang(human: HumanJoints, own: dict[int, Turn], parts: list[str]) -> None:
    """Let the bones between consecutive joints of a limb hang down, each turned no more than it must be."""
    turn = np.eye(3)
    for first, second in pairwise(parts):
        if first in human.joints and second in human.joints:
            turn = shortest(turn @ (_place(human, second) - _place(human, first)), DOWN) @ turn
            own[human.joints[first]] = turn


def _straighten_hand(human: HumanJoints, own: dict[int, Turn], axes: dict[str, Place], side: str) -> None:
    """Hand in line with the forearm, thumb to the front, fingers straight; half of the roll lies in the forearm."""
    knuckles = [f"{side}_{finger}_1" for finger in FINGERS if f"{side}_{finger}_1" in human.joints]
    wrist, elbow = human.joints.get(f"{side}_wrist"), human.joints.get(f"{side}_elbow")
    if wrist is None or elbow is None or not knuckles:
        return
    places = np.stack([_place(human, part) for part in knuckles])
    turn = shortest(own[elbow] @ (places.mean(axis=0) - _place(human, f"{side}_wrist")), DOWN) @ own[elbow]
    across = turn @ (places[0] - places[-1]) if len(knuckles) > 1 else FRONT
    if np.hypot(across[0], across[2]) > FLAT:
        roll = -float(np.rad2deg(np.arctan2(across[0], across[2])))
        own[elbow] = about((0, 1, 0), roll / 2) @ own[elbow]
        turn = about((0, 1, 0), roll) @ turn
        across = about((0, 1, 0), roll) @ across
    own[wrist] = turn
    towards_thumb = across / max(float(np.linalg.norm(across)), FLAT)
    palm = -SIDES[side] * towards_thumb
    for finger in FINGERS:
        _straighten_digit(human, own, f"{side}_{finger}", turn, palm)
        axes[f"{side}_{finger}"] = palm
    axes[f"{side}_thumb"] = _thumb_axis(human, turn, side, places, palm)


def _straighten_digit(human: HumanJoints, own: dict[int, Turn], digit: str, hand: Turn, axis: Place) -> None:
    """Take the bend that a finger was modelled with out of it; how far it is spread stays."""
    joints, turn = human.named(digit), hand
    places = modelled_worlds(human.skeleton)[:, :3, 3]
    for at, joint in enumerate(joints):
        if at + 1 < len(joints):
            bone = turn @ (places[joints[at + 1]] - places[joint])
            flat = bone - (bone @ axis) * axis
            bend = float(np.rad2deg(np.arctan2(np.cross(DOWN, flat) @ axis, DOWN @ flat)))
            turn = about(axis, -bend) @ turn
        own[joint] = turn


def _thumb_axis(
    human: HumanJoints, hand: Turn, side: str, knuckles: Float[np.ndarray, "N 3"], otherwise: Place
) -> Place:
    """Axis about which the thumb closes over the palm: its bone turns towards the knuckles across from it."""
    joints = human.named(f"{side}_thumb")
    if len(joints) < 2:
        return otherwise
    places = modelled_worlds(human.skeleton)[:, :3, 3]
    bone = hand @ (places[joints[-1]] - places[joints[-2]])
    closing = hand @ (knuckles[-1] - places[joints[-2]])
    axis = np.cross(bone, closing)
    length = float(np.linalg.norm(axis))
    return axis / length if length > FLAT else otherwise
