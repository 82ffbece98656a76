"""Where the tape goes: everything that is found once on the base shape and then carried by the skin."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool

from dressform.body.body import Body
from dressform.body.measure_axes import ELBOW_JOINT, KNEE_JOINT, SHOULDER_JOINT, find_axes
from dressform.body.measure_limbs import find_limbs
from dressform.body.measure_marks import Mark, Standing
from dressform.body.measure_trunk import find_trunk


@dataclass(frozen=True)
class Landmarks:
    """What the tape needs to know about a body.

    Attributes:
        body: The base shape, its limbs and its trunk.
        marks: Points that follow the shape: `waist`, `under-bust`, `neck front`, `right wrist`, ...
        bust: Vertices of the chest in front, per side, (B,).
        seat: Vertices of the seat, per side, (B,).
        missing: Why a mark was not found, by its name.
        skeleton: Whether joints of shoulder, elbow and knee placed marks.
    """

    body: Standing
    marks: Mapping[str, Mark]
    bust: Mapping[str, Bool[np.ndarray, " B"]]
    seat: Mapping[str, Bool[np.ndarray, " B"]]
    missing: Mapping[str, str]
    skeleton: bool


def find_landmarks(body: Body) -> Landmarks:
    """Find arms, legs, trunk, levels and axes on the base shape of a standing body with its arms held away from it."""
    standing = Standing(body.vertices, body.faces, find_limbs(body.vertices, body.faces))
    trunk = find_trunk(standing)
    joints = {} if body.skeleton is None else dict(zip(body.skeleton.names, body.skeleton.positions))
    axes = find_axes(standing, joints)
    missing = trunk.missing | axes.missing
    skeleton = all(joint + side in joints for joint in (SHOULDER_JOINT, ELBOW_JOINT, KNEE_JOINT) for side in "lr")
    return Landmarks(standing, trunk.marks | axes.marks, trunk.bust, trunk.seat, missing, skeleton)
