"""Axes of arms and legs, found at the base: the tape is laid across the line between two points inside the limb."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import BodyPoints
from dressform.body.measure_limbs import SIDES
from dressform.body.measure_marks import UP, Mark, Standing
from dressform.body.measure_slices import Direction, Slices

Position = Float[np.ndarray, "3"]

FOREARM, UPPER_ARM = 0.146, 0.186
"""Elbow to wrist and shoulder to elbow, of stature [Drillis1966]; used where a body has no joints there."""

BEYOND_ARMPIT = 0.01
"""How far beyond the armpit the search along the arm begins, of stature."""

WRIST_RISE = 1.04
"""Walking in from the palm, the wrist is passed once the girth has grown by this factor."""

WRIST_REACH = 0.02
"""How far from the first estimate the wrist is sought across the forearm's own axis, of stature."""

WRIST_LEVELS = 33

SHIN = (0.2, 0.58)
"""Heights of the two points of the shin's axis, between which the calf is sought, of the height of the crotch."""

Joints = Mapping[tuple[str, str], Position]
"""Positions at rest by joint (`shoulder`, `elbow` or `knee`) and side; empty where there is no skeleton."""

ARM_MARKS = ("wrist", "forearm", "elbow", "upper arm")
LEG_MARKS = ("shin low", "shin high", "knee")


@dataclass(frozen=True)
class Axes:
    """Marks on the axes of the limbs, and why some are missing.

    Attributes:
        marks: `left wrist`, `left forearm`, ... of `ARM_MARKS` and `LEG_MARKS`, and the same on the right.
        missing: Reasons, by the same names.
    """

    marks: dict[str, Mark]
    missing: dict[str, str]


def find_axes(body: Standing, joints: Joints) -> Axes:
    """Axes of all limbs that were found."""
    found = Axes({}, {})
    for side in SIDES:
        arm, leg = body.limbs.missing.get(f"{side} arm"), body.limbs.missing.get("legs")
        if arm is None:
            _find_arm(body, side, joints, found)
        else:
            found.missing.update({f"{side} {name}": arm for name in ARM_MARKS})
        if leg is None:
            _find_leg(body, side, joints.get(("knee", side)), found)
        else:
            found.missing.update({f"{side} {name}": leg for name in LEG_MARKS})
    return found


def arm_slices(
    body: Standing, vertices: BodyPoints, side: str, axis: Direction, levels: Float[np.ndarray, " L"]
) -> Slices:
    """Outlines of one arm in planes across `axis`, on the shape `vertices`, without those joined to the trunk."""
    return _arm_outlines(body, vertices, side, axis, levels).longest()


def leg_slices(
    body: Standing, vertices: BodyPoints, side: str, axis: Direction, levels: Float[np.ndarray, " L"]
) -> Slices:
    """Outlines of one leg in planes across `axis`, on the shape `vertices`, without those joined to the other leg."""
    (other,) = set(SIDES) - {side}
    slices = body.cut(vertices, axis, levels)
    slices = slices.keep(slices.touching(body.limbs.legs[side]) & ~slices.touching(body.limbs.legs[other]))
    return slices.longest()


def _arm_outlines(
    body: Standing, vertices: BodyPoints, side: str, axis: Direction, levels: Float[np.ndarray, " L"]
) -> Slices:
    """All outlines of one arm, fingers apart."""
    slices = body.cut(vertices, axis, levels)
    return slices.keep(slices.touching(body.limbs.arms[side]) & ~slices.touching(body.limbs.core))


def _find_arm(body: Standing, side: str, joints: Joints, found: Axes) -> None:
    """Wrist, middle of the forearm, elbow and middle of the upper arm."""
    armpit, tip = (body.vertices[ends[side]] for ends in (body.limbs.armpits, body.limbs.fingertips))
    axis = (tip - armpit) / np.linalg.norm(tip - armpit)
    start = float(armpit @ axis) + BEYOND_ARMPIT * body.stature
    outlines = _arm_outlines(body, body.vertices, side, axis, body.levels(start, float(tip @ axis)))
    slices = outlines.longest()
    narrow = wrist_level(slices.girths(), outlines.loop_counts())
    if narrow is None:
        reason = "the arm has no narrowing before the hand"
        found.missing.update({f"{side} {name}": reason for name in ARM_MARKS})
        return
    wrist = float(slices.levels[narrow])
    elbow, middle = wrist - FOREARM * body.stature, wrist - (FOREARM + UPPER_ARM / 2) * body.stature
    if ("shoulder", side) in joints and ("elbow", side) in joints:
        elbow = float(joints["elbow", side] @ axis)
        middle = (elbow + float(joints["shoulder", side] @ axis)) / 2
    for name, level in {"forearm": (elbow + wrist) / 2, "elbow": elbow, "upper arm": middle}.items():
        ring = arm_slices(body, body.vertices, side, axis, np.array([level]))
        if level < start or not len(ring.pieces):
            found.missing[f"{side} {name}"] = f"no outline of the arm alone at its {name}"
        else:
            found.marks[f"{side} {name}"] = Mark.of_outline(ring)
    forearm = found.marks[f"{side} forearm"].at(body.vertices)
    found.marks[f"{side} wrist"] = _tighten(body, side, forearm, slices.centres()[narrow])


def _tighten(body: Standing, side: str, forearm: Position, wrist: Position) -> Mark:
    """The smallest outline near the wrist, across the forearm's own axis."""
    axis = (wrist - forearm) / np.linalg.norm(wrist - forearm)
    reach = WRIST_REACH * body.stature
    levels = np.linspace(float(wrist @ axis) - reach, float(wrist @ axis) + reach, WRIST_LEVELS)
    slices = arm_slices(body, body.vertices, side, axis, levels)
    girths = slices.girths()
    return Mark.of_outline(slices.keep(slices.level == np.argmin(np.where(girths > 0, girths, np.inf))))


def wrist_level(girths: Float[np.ndarray, " L"], outlines: Int[np.ndarray, " L"]) -> int | None:
    """Index of the wrist in girths that run from the upper arm to the fingertips; None where nothing narrows.

    The palm begins inward of the last level in the outer half at which fingers or thumb have outlines of their own;
    from there the girth falls to the wrist and rises again. A girth of 0, between two parts of the arm, is passed over.
    """
    inward = girths[::-1]
    half = len(inward) // 2
    palm = int(np.max(np.flatnonzero(outlines[::-1][:half] > 1), initial=-1)) + 1
    narrow = palm
    for level in (palm + np.flatnonzero(inward[palm:] > 0)).tolist():
        if narrow > palm and inward[level] > WRIST_RISE * inward[narrow]:
            return len(inward) - 1 - narrow
        if inward[level] >= inward[palm]:
            palm = narrow = level
        elif inward[level] < inward[narrow]:
            narrow = level
    return None


def _find_leg(body: Standing, side: str, knee: Position | None, found: Axes) -> None:
    """Two points on the axis of the shin, and the knee where there is a joint for it."""
    inside_leg = body.crotch - body.lowest
    heights = {"shin low": body.lowest + SHIN[0] * inside_leg, "shin high": body.lowest + SHIN[1] * inside_leg}
    if knee is not None:
        heights["knee"] = float(knee[1])
    else:
        found.missing[f"{side} knee"] = "the body has no knee joint"
    for name, height in heights.items():
        found.marks[f"{side} {name}"] = Mark.of_outline(leg_slices(body, body.vertices, side, UP, np.array([height])))
