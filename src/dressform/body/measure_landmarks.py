"""Where the tape goes: landmarks that are found once at the base and then move with the skin."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool

from dressform.body.body import Body
from dressform.body.measure_axes import Joints, find_axes
from dressform.body.measure_limbs import SIDES, find_limbs
from dressform.body.measure_marks import Mark, Standing
from dressform.body.measure_trunk import find_trunk
from dressform.body.skeleton import Skeleton

BONES = {
    "shoulder": ("upperarm",),
    "elbow": ("forearm", "lowerarm"),
    "knee": ("shin", "calf", "lowerleg"),
}
"""Joints that place marks, by the bones that begin there, however a skeleton writes their names: `upper_arm_l`,
`UpperArm.L`, `LeftUpperArm`."""


@dataclass(frozen=True)
class Landmarks:
    """The landmarks of a body that the tape needs.

    Attributes:
        body: The base body, its limbs and its trunk.
        marks: Points that follow the shape: `waist`, `under-bust`, `neck front`, `right wrist`, ...
        bust: Vertices of the chest in front, per side, (B,).
        seat: Vertices of the seat, per side, (B,).
        missing: Why a mark was not found, by its name.
        jointed: Whether joints placed the middle of the upper arms.
    """

    body: Standing
    marks: Mapping[str, Mark]
    bust: Mapping[str, Bool[np.ndarray, " B"]]
    seat: Mapping[str, Bool[np.ndarray, " B"]]
    missing: Mapping[str, str]
    jointed: bool


def find_landmarks(body: Body) -> Landmarks:
    """Find arms, legs, trunk, levels and axes at the base of a standing body with its arms held away from it."""
    standing = Standing(body.vertices, body.faces, find_limbs(body.vertices, body.faces))
    trunk = find_trunk(standing)
    joints = {} if body.skeleton is None else named_joints(body.skeleton)
    axes = find_axes(standing, joints)
    missing = trunk.missing | axes.missing
    jointed = all((joint, side) in joints for joint in ("shoulder", "elbow") for side in SIDES)
    return Landmarks(standing, trunk.marks | axes.marks, trunk.bust, trunk.seat, missing, jointed)


def named_joints(skeleton: Skeleton) -> Joints:
    """Shoulders, elbows and knees of a skeleton, where they can be recognised by the joint names."""
    wanted = {
        text: (joint, side)
        for joint, bones in BONES.items()
        for bone in bones
        for side in SIDES
        for text in (bone + side, side + bone, bone + side[0], side[0] + bone)
    }
    plain = ["".join(filter(str.isalpha, name.lower())) for name in skeleton.names]
    return {wanted[name]: place for name, place in zip(plain, skeleton.positions) if name in wanted}
