"""Stances as somebody states them: motions of joints, turns about axes, sliders that move joints."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from dressform.body.stance import Stance
from dressform.body.stances.human import SIDES, HumanJoints
from dressform.body.stances.motion_table import Motions
from dressform.body.stances.motions import turns_of
from dressform.body.stances.sliders import JointSlider, slid_worlds
from dressform.body.stances.tree import JointTree
from dressform.body.stances.turns import AXES, Turn, about, mirrored, modelled_worlds, own_axes, worlds_of
from dressform.body.stances.zero import ZeroPose
from dressform.calls import likely
from dressform.errors import ArgumentError

BODY_AXES, JOINT_AXES = "body", "joint"
AXES_OF = (BODY_AXES, JOINT_AXES)
FAR_FROM_MIRROR = 0.08
"""The joint of the other side stands nearer to the mirror image than this share of the skeleton's height."""


@dataclass(frozen=True)
class StatedTurn:
    """A joint turned from the modelled pose.

    Attributes:
        joint: Its name, or its part where it was recognised, such as `left_elbow`.
        axis: One of `AXES`, or three numbers.
        degrees: By the right-hand rule.
        axes: Of the `body`, as modelled (X left, Y up, Z front), or of the `joint`, as in its file.
        mirror: Whether the joint of the other side turns, too, as in a mirror.
    """

    joint: str
    axis: str | tuple[float, float, float]
    degrees: float
    axes: str = BODY_AXES
    mirror: bool = False


@dataclass(frozen=True)
class StatedStance:
    """One stance.

    Attributes:
        motions: Motions of parts, degrees from arms and legs hanging.
        turns: Turns from the modelled pose; several of one joint one after the other.
        sliders: Values of sliders that move joints.
    """

    motions: Motions = field(default_factory=dict)
    turns: tuple[StatedTurn, ...] = ()
    sliders: Mapping[str, float | int] = field(default_factory=dict)


def stated_stance(
    function: str, name: str, stated: StatedStance, zero: ZeroPose, sliders: Sequence[JointSlider], *, origin: str
) -> Stance:
    """The stance that is stated.

    Raises:
        ArgumentError: a joint, part, motion, axis or slider is unknown, or a joint is moved in two ways.
    """
    skeleton = zero.human.skeleton
    turns: dict[int, Turn] = dict(turns_of(function, zero, stated.motions))
    moved = set(turns)
    for one in stated.turns:
        for joint, turn in _turns(function, zero.human, one).items():
            if joint in moved:
                observed = f"{skeleton.names[joint]!r}, which `motions` move"
                raise ArgumentError.of(function, "turns", "of other joints than motions move", observed, "Keep one")
            turns[joint] = turn @ turns[joint] if joint in turns else turn
    worlds = slid_worlds(skeleton, sliders, stated.sliders, turns)
    values = {slider: float(value) for slider, value in stated.sliders.items() if value}
    return Stance(name, worlds, origin, sliders=values, still=worlds_of(skeleton, turns) if values else None)


def _turns(function: str, human: HumanJoints, one: StatedTurn) -> dict[int, Turn]:
    """The turn of the joint, and of that on the other side, about axes of the body."""
    joint, axis = _joint(function, human, one.joint), AXES.get(one.axis) if isinstance(one.axis, str) else one.axis
    if axis is None:
        raise ArgumentError.of(function, "axis", f"one of {', '.join(AXES)}", repr(one.axis), "Or give [x, y, z]")
    if one.axes not in AXES_OF:
        raise ArgumentError.of(function, "axes", f"one of {', '.join(AXES_OF)}", repr(one.axes), "Use one of these")
    turn = about(axis, one.degrees)
    if one.axes == JOINT_AXES:
        own = own_axes(modelled_worlds(human.skeleton)[joint])
        turn = own @ turn @ own.T
    return {joint: turn} | ({other_side(function, human, joint): mirrored(turn)} if one.mirror else {})


def _joint(function: str, human: HumanJoints, name: str) -> int:
    names = human.skeleton.names
    if name in names:
        return names.index(name)
    if name in human.joints:
        return human.joints[name]
    advice = likely(name, (*names, *human.joints))
    raise ArgumentError.of(function, "joint", f"one of {', '.join(names)}", repr(name), advice)


def other_side(function: str, human: HumanJoints, joint: int) -> int:
    """The joint on the other side: the part of that name, else the nearest one to the mirror image.

    Raises:
        ArgumentError: the joint stands in the middle, or nothing stands opposite.
    """
    for part, one in human.joints.items():
        side, _, own = part.partition("_")
        if one == joint and side in SIDES:
            other = human.joints.get(f"{'right' if side == 'left' else 'left'}_{own}")
            if other is not None:
                return other
    tree = JointTree(human.skeleton, np.ones(len(human.skeleton.names), dtype=bool))
    away = np.linalg.norm(tree.places - tree.places[joint] * (-1, 1, 1), axis=1)
    depth = np.array([len(tree.above(one)) for one in range(len(away))])
    best = int(np.lexsort((np.abs(depth - depth[joint]), np.round(away, 4)))[0])
    if best == joint or away[best] > FAR_FROM_MIRROR * float(np.ptp(tree.places[:, 1])):
        name = human.skeleton.names[joint]
        raise ArgumentError.of(function, "mirror", "of a joint with another side", repr(name), "Leave mirror out")
    return best
