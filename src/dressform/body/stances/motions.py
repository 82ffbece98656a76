"""Motions of joints, such as an elbow bent by 90°, as turns from the modelled pose."""

from collections.abc import Mapping

import numpy as np

from dressform.body.stances.human import SIDES
from dressform.body.stances.limbs import FINGERS
from dressform.body.stances.motion_table import Motions, joint_kinds, joint_motions, motions_of
from dressform.body.stances.turns import Turn, about, mirrored
from dressform.body.stances.zero import DOWN, ZeroPose
from dressform.errors import ArgumentError

MIDDLE_KINDS = {"trunk": ("trunk",), "neck": ("neck", "head")}
COLLAR_FROM, COLLAR_SHARE, COLLAR_MOST = 30.0, 1 / 3, 40.0
"""The blade follows an arm raised beyond 30°, one degree to two of the arm, the collar bone at most 40° (memory)."""


def turns_of(function: str, zero: ZeroPose, motions: Motions) -> dict[int, Turn]:
    """Turns by joint that make the motions of a stance; joints that are not named stay as modelled.

    Args:
        function: The caller, for messages.
        zero: The zero pose, from which degrees count.
        motions: By part, both sides (`elbow`) or one (`left_elbow`); motions of one part are made in their order.

    Raises:
        ArgumentError: a part or motion is unknown (the valid ones are listed), or the skeleton lacks the joint.

    Proof: tests/body/stances/test_motions.py
    """
    found: dict[int, Turn] = {}
    made = _by_part(function, motions)
    for part, steps in made.items():
        for joint, turn in _moved(function, zero, part, steps).items():
            found[joint] = found[joint] @ turn if joint in found else turn
    if motions and not found:
        _refuse_absent(function, next(iter(motions)))
    turns = {joint: zero.between(joint, turn) for joint, turn in found.items()}
    for side in SIDES:
        _raise_collar(zero, side, found, turns)
    return turns


def _by_part(function: str, motions: Motions) -> dict[str, list[tuple[str, float]]]:
    """Every part of one side or the middle, with its motions in order; forearms are parts of elbow and wrist."""
    made: dict[str, list[tuple[str, float]]] = {}
    for part, steps in motions.items():
        for motion, degrees in steps.items():
            kind, sided = _kind(function, part)
            if motion not in motions_of(kind):
                rule = f"one of {', '.join(motions_of(kind))} for {part}"
                raise ArgumentError.of(function, "motions", rule, repr(motion), "Use one of these")
            for one in sided:
                made.setdefault(one, []).append((motion, float(degrees)))
    return made


def _kind(function: str, part: str) -> tuple[str, list[str]]:
    """The kind of a part, and the parts that are meant: one of each side unless one side is named."""
    side, _, rest = part.partition("_")
    sides, own = ((side,), rest) if side in SIDES else (tuple(SIDES), part)
    digit, _, number = own.rpartition("_")
    kind = f"finger_{number}" if digit in FINGERS else own
    if kind not in joint_kinds():
        known = ", ".join(joint_kinds())
        advice = "Use one of these, with left_ or right_ before it for one side"
        raise ArgumentError.of(function, "motions", f"of one of {known}", repr(part), advice)
    if kind in MIDDLE_KINDS:
        return kind, [kind]
    names = [f"{finger}_{number}" for finger in FINGERS] if own == kind and own.startswith("finger_") else [own]
    return kind, [f"{side}_{name}" for side in sides for name in names]


def _moved(function: str, zero: ZeroPose, part: str, steps: list[tuple[str, float]]) -> dict[int, Turn]:
    """Motion of each joint of a part, in axes of the zero pose."""
    side, _, own = part.partition("_")
    human = zero.human
    if part in MIDDLE_KINDS:
        joints = [one for row in MIDDLE_KINDS[part] for one in _rowed(zero, row)]
        if not joints:
            _refuse_absent(function, part)
        return {joint: _turn(zero, part, part, steps, 1 / len(joints)) for joint in joints}
    shared = {"elbow": 0.5, "wrist": 0.5} if own == "forearm" else {own: 1.0}
    found = {}
    for name, share in shared.items():
        if f"{side}_{name}" not in human.joints:
            if own.partition("_")[0] in FINGERS:  # a hand without this finger, or with shorter chains
                continue
            _refuse_absent(function, f"{side}_{name}")
        found[human.joints[f"{side}_{name}"]] = _turn(zero, part, own, steps, share)
    return found


def _rowed(zero: ZeroPose, row: str) -> list[int]:
    return zero.human.named(row) or ([zero.human.joints[row]] if row in zero.human.joints else [])


def _refuse_absent(function: str, part: str) -> None:
    advice = f'Name its joint: under [joints] {part} = "…", or leave it out'
    raise ArgumentError.of(function, "motions", "of joints that were recognised", repr(part), advice)


def _turn(zero: ZeroPose, part: str, own: str, steps: list[tuple[str, float]], share: float) -> Turn:
    """Motions of one part one after the other, each by a share."""
    side, _, _ = part.partition("_")
    digit, _, number = own.rpartition("_")
    kind = f"finger_{number}" if digit in FINGERS else own
    turn = np.eye(3)
    for motion, degrees in steps:
        row = joint_motions()[kind, motion]
        if row.axis is None:
            made = about(zero.digit_axes[f"{side}_{digit}"], share * degrees)
        else:
            made = about(row.axis, share * degrees)
            made = mirrored(made) if side == "right" else made
        turn = made @ turn
    return turn


def _raise_collar(zero: ZeroPose, side: str, found: Mapping[int, Turn], turns: dict[int, Turn]) -> None:
    """Let the collar bone take its share of a raised arm; the arm itself ends up where it was asked to be."""
    collar, shoulder = (zero.human.joints.get(f"{side}_{part}") for part in ("collar", "shoulder"))
    if collar is None or shoulder is None or shoulder not in found:
        return
    raised = float(np.rad2deg(np.arccos(np.clip((found[shoulder] @ DOWN) @ DOWN, -1, 1))))
    lift = float(np.clip(COLLAR_SHARE * (raised - COLLAR_FROM), 0.0, COLLAR_MOST))
    if lift > 0:
        turn = about((0, 0, SIDES[side]), lift)
        turns[collar] = zero.between(collar, turn)
        turns[shoulder] = zero.between(shoulder, turn.T @ found[shoulder])
