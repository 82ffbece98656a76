"""One function per tape measure: where the tape lies on one shape, and its reading there."""

import numpy as np
from jaxtyping import Float

from dressform.body.measure_axes import arm_slices, leg_slices
from dressform.body.measure_marks import BRIDGED, UP
from dressform.body.measure_slices import cut
from dressform.body.measure_tape import SEARCH_LEVELS, Tape, TapeReading, largest
from dressform.body.measure_trunk import SEAT_FOLD
from dressform.errors import MeshError

UNDER_ARMPIT = 0.008
"""How far under the armpits the middle of the tape lies, of stature: about half the width of a tape."""

CHEST_REACH = 0.03
"""How far below the armpits the chest is still sought where a shape joins arm and trunk lower down, of stature."""

BELOW_SEAT_FOLD = 0.003
"""How far below the fold of the buttock and the crotch the thigh begins, of stature: the tape lies free of both."""

THIGH_END = 0.75
"""Height of the lowest level at which the thigh is sought, of the height of the crotch."""

SAME_LINE = 0.005
"""Two tapes nearer to each other than this are one, metres: a tape is about a centimetre wide."""


def stature(tape: Tape) -> TapeReading:
    """Soles to crown, the vertical distance."""
    return TapeReading(tape.tall)


def inside_leg(tape: Tape) -> TapeReading:
    """Crotch to soles, the vertical distance."""
    return TapeReading(tape.crotch - tape.sole)


def neck(tape: Tape) -> TapeReading:
    """Smallest girth between shoulders and head, across the neck."""
    front, back = tape.mark("neck front"), tape.mark("neck back")
    # The plane holds both marks and the left-right direction.
    normal = np.cross(front - back, [1.0, 0.0, 0.0])
    normal /= np.linalg.norm(normal)
    body = tape.landmarks.body
    level = np.array([front @ normal])
    slices = cut(tape.vertices, body.faces[body.upper], normal, level, bridged=BRIDGED * tape.tall)
    slices = slices.keep(slices.touching(body.limbs.core[body.upper]))
    return tape.reading(float(slices.girths()[0]), float((front + back)[1]) / 2)


def chest(tape: Tape) -> TapeReading:
    """Girth as high as a horizontal tape reaches under both armpits."""
    top = tape.armpit - UNDER_ARMPIT * tape.tall
    levels = np.linspace(top - CHEST_REACH * tape.tall, top, SEARCH_LEVELS)
    girths = tape.trunk(levels)
    free = np.flatnonzero(girths > 0)
    if not free.size:
        raise MeshError("arms and trunk are one surface under the armpits")
    return tape.reading(float(girths[free[-1]]), float(levels[free[-1]]))


def full_bust(tape: Tape) -> TapeReading:
    """Largest horizontal girth between the fold under the bust, or the waist where there is none, and the armpits."""
    name = "under-bust" if "under-bust" in tape.landmarks.marks else "waist"
    low = float(tape.mark(name)[1])
    girth, level = largest(tape.trunk, low, tape.armpit - UNDER_ARMPIT * tape.tall)
    if level - low < SAME_LINE:
        raise MeshError(f"the girth is largest at the {name} line, so there is no fuller line above it")
    return tape.reading(girth, level, tape.landmarks.missing.get("bust", ""))


def bust(tape: Tape) -> TapeReading:
    """Horizontal girth at the mean height of the two bust points, the most prominent points of the chest."""
    if not tape.landmarks.bust:
        raise MeshError(tape.landmarks.missing["bust"])
    return tape.around_trunk(tape.crest(tape.landmarks.bust, 1.0))


def under_bust(tape: Tape) -> TapeReading:
    """Horizontal girth just below the bust."""
    return tape.around_trunk(float(tape.mark("under-bust")[1]))


def waist(tape: Tape) -> TapeReading:
    """Horizontal girth at the waist."""
    return tape.around_trunk(float(tape.mark("waist")[1]), "where the base body is narrowest; a mesh has no ribs")


def hip(tape: Tape) -> TapeReading:
    """Horizontal girth at the greatest protrusion of the seat, the mean of both sides."""
    if not tape.landmarks.seat:
        raise MeshError(tape.landmarks.missing["seat"])
    return tape.around_trunk(tape.crest(tape.landmarks.seat, -1.0))


def thigh(tape: Tape) -> TapeReading:
    """Largest horizontal girth of one leg below the fold of the buttock."""

    def take(side: str) -> TapeReading:
        def girths(levels: Float[np.ndarray, " L"]) -> Float[np.ndarray, " L"]:
            return leg_slices(tape.landmarks.body, tape.vertices, side, UP, levels).girths()

        top, note = tape.crotch, side
        if f"{side} {SEAT_FOLD}" in tape.landmarks.marks:
            top = min(top, float(tape.mark(f"{side} {SEAT_FOLD}")[1]))
        else:
            note = f"{side}; below the crotch, as the base body has no fold below the buttock"
        low = tape.sole + THIGH_END * (tape.crotch - tape.sole)
        return tape.reading(*largest(girths, low, top - BELOW_SEAT_FOLD * tape.tall), note)

    return tape.limb(take)


def mid_thigh(tape: Tape) -> TapeReading:
    """Horizontal girth of one leg midway between crotch and knee."""

    def take(side: str) -> TapeReading:
        level = (tape.crotch + float(tape.mark(f"{side} knee")[1])) / 2
        slices = leg_slices(tape.landmarks.body, tape.vertices, side, UP, np.array([level]))
        return tape.reading(float(slices.girths()[0]), level, side)

    return tape.limb(take)


def calf(tape: Tape) -> TapeReading:
    """Largest girth of one lower leg, across its axis."""

    def take(side: str) -> TapeReading:
        low, high = tape.mark(f"{side} shin low"), tape.mark(f"{side} shin high")
        axis = (high - low) / np.linalg.norm(high - low)

        def girths(levels: Float[np.ndarray, " L"]) -> Float[np.ndarray, " L"]:
            return leg_slices(tape.landmarks.body, tape.vertices, side, axis, levels).girths()

        girth, level = largest(girths, float(low @ axis), float(high @ axis))
        return tape.reading(girth, float((low + (level - low @ axis) * axis)[1]), side)

    return tape.limb(take)


def upper_arm(tape: Tape) -> TapeReading:
    """Girth of one arm midway between shoulder and elbow, across the upper arm."""
    note = "" if tape.landmarks.jointed else "; shoulder and elbow placed by proportions of the stature"
    return tape.limb(lambda side: across_arm(tape, side, "upper arm", "elbow", note))


def wrist(tape: Tape) -> TapeReading:
    """Girth of one wrist, across the forearm."""
    return tape.limb(lambda side: across_arm(tape, side, "wrist", "forearm"))


def across_arm(tape: Tape, side: str, at: str, axis_end: str, note: str = "") -> TapeReading:
    """The tape around one arm at a mark, across the line to another mark."""
    point, end = tape.mark(f"{side} {at}"), tape.mark(f"{side} {axis_end}")
    axis = (end - point) / np.linalg.norm(end - point)
    slices = arm_slices(tape.landmarks.body, tape.vertices, side, axis, np.array([point @ axis]))
    return tape.reading(float(slices.girths()[0]), float(point[1]), side + note)
