"""Sliders that move joints, and joints that follow morphs, as the range TOML beside a body declares them.

    [joint_sliders.arm_length]
    forearm_l = { scale = [[1, 0.9, 1], [1, 1.15, 1]], mirror = true }
    hand_l = { translation = [[0, -0.01, 0], [0, 0.02, 0]] }

    [joint_sliders.stoop]
    spine_2 = { rotation = [-5, 20], axis = "x" }

    [joint_sliders.stretch]
    animation = "stretch"

    [joint_moves.tall]
    head = [0, 0.05, 0]

The first of each pair is reached at -1, the second at 1; at 0 the body is as modelled. `docs/stances.md` has it all.
"""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import msgspec
import numpy as np

from dressform.body.body import Body
from dressform.body.pose import ROTATION, SCALE, TRANSLATION, Animation
from dressform.body.skeleton import Skeleton
from dressform.body.stances.following_joints import JointMoves
from dressform.body.stances.human import HumanJoints, recognise
from dressform.body.stances.sliders import JointEffect, JointSlider, animated_slider
from dressform.body.stances.stated import other_side
from dressform.body.stances.turns import AXES
from dressform.errors import ArgumentError, FileError
from dressform.formats.guards.toml import converted
from dressform.formats.range_file import range_beside, range_tree

ANIMATION = "animation"
LARGEST = {SCALE: 100.0, TRANSLATION: 100.0, ROTATION: 360.0}
SMALLEST_SCALE = 0.01

Triple = tuple[float, float, float]


class _Effect(msgspec.Struct, forbid_unknown_fields=True):
    scale: tuple[float | Triple, float | Triple] | None = None
    translation: tuple[Triple, Triple] | None = None
    rotation: tuple[float, float] | None = None
    axis: str = "x"
    mirror: bool = False


def moving_of(
    body: Body, path: Path, range_file: Path | None, animations: Callable[[], Sequence[Animation]]
) -> tuple[tuple[JointSlider, ...], JointMoves | None]:
    """What the range file of a body says about its joints: sliders, and how they follow morphs.

    Args:
        body: The body; has joints where anything is declared.
        path: The body's file.
        range_file: The range TOML where one was named; else the one beside the body, if there is one.
        animations: Reads those of the file; asked only where one is a slider.

    Raises:
        FileError: an unknown joint, morph, animation or key, a value that is not finite, or a body without joints; file
            and key are named.

    Proof: tests/formats/moving/test_joint_sliders_file.py
    """
    source = range_file or range_beside(path)
    if range_file is None and not source.is_file():
        return (), None
    tree = range_tree(source)
    if not tree.joint_sliders and not tree.joint_moves:
        return (), None
    if body.skeleton is None:
        key = "joint_sliders" if tree.joint_sliders else "joint_moves"
        raise FileError.of(source, key, "needs joints, which this body lacks", "Leave it out")
    human = recognise(body.skeleton, body.skin)
    sliders = tuple(_slider(source, name, entry, human, animations) for name, entry in tree.joint_sliders.items())
    for slider in sliders:
        if slider.name in body.morph_names:
            key = f"joint_sliders.{slider.name}"
            raise FileError.of(source, key, "is the name of a morph, too", "Give the slider another name")
    return sliders, _moves(source, tree.joint_moves, body, body.skeleton)


def _slider(
    path: Path, name: str, entry: Mapping[str, Any], human: HumanJoints, animations: Callable[[], Sequence[Animation]]
) -> JointSlider:
    key = f"joint_sliders.{name}"
    played = entry.get(ANIMATION)
    if isinstance(played, str):
        if len(entry) > 1:
            raise FileError.of(path, key, "plays an animation and moves joints", "Make two sliders of it")
        return _played(path, key, name, played, human.skeleton, animations())
    effects = [effect for joint, one in entry.items() for effect in _effects(path, f"{key}.{joint}", joint, one, human)]
    if not effects:
        raise FileError.of(path, key, "moves no joint", "Write for instance forearm_l = { scale = [0.9, 1.15] }")
    has_low = any(one.low != _still(one.path) for one in effects)
    has_high = any(one.high != _still(one.path) for one in effects)
    if not (has_low or has_high):
        raise FileError.of(path, key, "leaves the body as modelled", "Give it another end")
    return JointSlider(name, tuple(effects), low=-1.0 if has_low else 0.0, high=1.0 if has_high else 0.0)


def _played(
    path: Path, key: str, name: str, played: str, skeleton: Skeleton, animations: Sequence[Animation]
) -> JointSlider:
    found = next((one for one in animations if one.name == played), None)
    if found is None:
        known = ", ".join(one.name for one in animations) or "none"
        raise FileError.of(path, f"{key}.{ANIMATION}", f"is {played!r}", f"The animations of this body are: {known}")
    try:
        return animated_slider(name, found, skeleton)
    except ArgumentError as problem:
        raise FileError(f"{path}: {key}: {problem}") from None


def _effects(path: Path, key: str, joint: str, entry: Any, human: HumanJoints) -> list[JointEffect]:
    """What is done to one joint, and to that on the other side."""
    made, names = converted(path, key, entry, _Effect), human.skeleton.names
    if joint not in names:
        raise FileError.of(path, key, "is no joint of this body", f"Its joints are: {', '.join(names)}")
    if made.axis not in AXES:
        raise FileError.of(path, f"{key}.axis", f"is {made.axis!r}", f"Use one of {', '.join(AXES)}")
    if made.scale is None and made.translation is None and made.rotation is None:
        raise FileError.of(path, key, "says nothing of the joint", "Give scale, translation or rotation")
    number, found = names.index(joint), []
    for kind in (SCALE, TRANSLATION, ROTATION):
        ends = getattr(made, kind)
        if ends is not None:
            low, high = (_triple(path, f"{key}.{kind}", kind, end) for end in ends)
            found.append(JointEffect(number, kind, low, high, AXES[made.axis]))
    return found + (_on_the_other_side(path, key, found, human) if made.mirror else [])


def _triple(path: Path, key: str, kind: str, end: float | Triple) -> Triple:
    numbers = end if isinstance(end, tuple) else (end, end, end)
    if not all(abs(number) <= LARGEST[kind] for number in numbers):
        raise FileError.of(path, key, f"has {list(numbers)}, beyond ±{LARGEST[kind]:g}", "Correct this end")
    if kind == SCALE and min(numbers) < SMALLEST_SCALE:
        raise FileError.of(path, key, f"has {min(numbers):g}, below {SMALLEST_SCALE:g}", "Give factors of the scale")
    return numbers


def _still(kind: str) -> Triple:
    return (1.0, 1.0, 1.0) if kind == SCALE else (0.0, 0.0, 0.0)


def _on_the_other_side(path: Path, key: str, effects: Sequence[JointEffect], human: HumanJoints) -> list[JointEffect]:
    """The same scale for the joint of the other side; its axes may point elsewhere, so nothing else can be mirrored."""
    try:
        other = other_side("joint_sliders", human, effects[0].joint)
    except ArgumentError as problem:
        raise FileError(f"{path}: {key}: {problem}") from None
    if any(effect.path != SCALE for effect in effects):
        more = "mirrors more than a scale, though axes of joints need not mirror each other"
        raise FileError.of(path, f"{key}.mirror", more, "Write the other side's joint as well")
    return [JointEffect(other, one.path, one.low, one.high, one.axis) for one in effects]


def _moves(
    path: Path, declared: Mapping[str, Mapping[str, Triple]], body: Body, skeleton: Skeleton
) -> JointMoves | None:
    """How joints follow morphs, (K, J, 3)."""
    if not declared:
        return None
    moves = np.zeros((len(body.morph_names), len(skeleton.names), 3))
    for morph, joints in declared.items():
        key = f"joint_moves.{morph}"
        if morph not in body.morph_names:
            known = ", ".join(body.morph_names) or "none"
            raise FileError.of(path, key, "is no morph of this body", f"Its morphs are: {known}")
        for joint, move in joints.items():
            if joint not in skeleton.names:
                advice = f"Its joints are: {', '.join(skeleton.names)}"
                raise FileError.of(path, f"{key}.{joint}", "is no joint of this body", advice)
            if not all(abs(number) <= LARGEST[TRANSLATION] for number in move):
                raise FileError.of(path, f"{key}.{joint}", f"is {list(move)}", "Give metres, three finite numbers")
            moves[body.morph_names.index(morph), skeleton.names.index(joint)] = move
    return moves
