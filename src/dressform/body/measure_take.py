"""One function per tape measure: where the tape lies on one shape, and its reading there."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import BodyPoints
from dressform.body.measure_axes import arm_slices, leg_slices
from dressform.body.measure_landmarks import Landmarks
from dressform.body.measure_limbs import SIDES
from dressform.body.measure_marks import BRIDGED, UP
from dressform.body.measure_slices import cut, profile_of
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

CREST_REACH, CREST_LEVELS = 0.025, 31
"""How far above and below its farthest vertex the crest of bust or seat is sought, of stature, and how finely."""

CREST_DEPTH = 0.0005
"""The crest is what reaches as far as the farthest level but for this, of stature: less than a millimetre."""

SEARCH_LEVELS = 12
FINE_LEVELS = 5
LIMB_SIDES = ("right", "left")
"""A limb is measured on the right; on the left where the right cannot be."""

Girths = Callable[[Float[np.ndarray, " L"]], Float[np.ndarray, " L"]]


SAME_LINE = 0.005
"""Two tapes nearer to each other than this are one, metres: a tape is about a centimetre wide."""


@dataclass(frozen=True)
class TapeReading:
    """The reading of the tape, and where it was taken.

    Attributes:
        value: Metres.
        height: Height of the tape above the soles, metres; None for a length.
        note: A caveat about this reading; empty where there is none.
    """

    value: float
    height: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Tape:
    """A tape at one shape. Its methods raise MeshError, with the reason, where a measure cannot be taken.

    Attributes:
        landmarks: Where the tape goes.
        vertices: The shape, (B, 3).
    """

    landmarks: Landmarks
    vertices: BodyPoints

    @cached_property
    def _extent(self) -> tuple[float, float]:
        """Heights of soles and crown in the body's frame, metres."""
        heights = self.vertices[self.landmarks.body.faces[self.landmarks.body.limbs.shell], 1]
        return float(heights.min()), float(heights.max())

    @property
    def sole(self) -> float:
        """Height of the soles in the body's frame, metres."""
        return self._extent[0]

    @property
    def tall(self) -> float:
        """Soles to crown, metres."""
        return self._extent[1] - self._extent[0]

    def mark(self, name: str) -> Float[np.ndarray, "3"]:
        """The position of a mark on this shape."""
        if name not in self.landmarks.marks:
            raise MeshError(self.landmarks.missing[name])
        return self.landmarks.marks[name].at(self.vertices)

    @property
    def crotch(self) -> float:
        """Height of the crotch in the body's frame, metres."""
        limbs = self.landmarks.body.limbs
        if limbs.crotch is None:
            raise MeshError(limbs.missing["legs"])
        return float(self.vertices[limbs.crotch, 1])

    @property
    def armpit(self) -> float:
        """Height of the lower armpit in the body's frame, metres."""
        limbs = self.landmarks.body.limbs
        if limbs.missing:
            raise MeshError(next(iter(limbs.missing.values())))
        return float(min(self.vertices[vertex, 1] for vertex in limbs.armpits.values()))

    def trunk(self, levels: Float[np.ndarray, " L"]) -> Float[np.ndarray, " L"]:
        """Girth of the trunk at each level, (L,); 0 where there is no section of the trunk alone."""
        return self.landmarks.body.trunk_slices(self.vertices, levels).girths()

    def around_trunk(self, level: float, note: str = "") -> TapeReading:
        """The tape around the trunk at one level."""
        return self.reading(float(self.trunk(np.array([level]))[0]), level, note)

    def reading(self, girth: float, level: float, note: str = "") -> TapeReading:
        """A girth at a level of the body's frame; 0 means that the tape has nothing to go around."""
        if girth == 0:
            raise MeshError(f"this part of the body has no outline of its own at {level - self.sole:.3f} m")
        return TapeReading(girth, level - self.sole, note)

    def limb(self, take: Callable[[str], TapeReading]) -> TapeReading:
        """A measure of a limb, on the first side where it can be taken."""
        reasons = []
        for side in LIMB_SIDES:
            try:
                return take(side)
            except MeshError as error:
                reasons.append(str(error))
        raise MeshError(reasons[0])

    def crest(self, parts: Mapping[str, Bool[np.ndarray, " B"]], forward: float) -> float:
        """Height at which the trunk reaches farthest to the front (`forward` 1) or back (-1), the mean of both sides.

        On each side it is the middle of the stretch of the profile that lies within `CREST_DEPTH` of the farthest
        point. A seat is so flat there that its farthest vertex may lie a finger's breadth from the middle.

        Args:
            parts: Vertices of each side among which the crest is sought, (B,).
            forward: 1 for the front, -1 for the back.
        """
        if not all(part.any() for part in parts.values()):
            raise MeshError("this part of the body has no vertices")
        tops, reach = {}, CREST_REACH * self.tall
        for side, part in parts.items():
            points = self.vertices[part]
            top = float(points[np.argmax(forward * points[:, 2]), 1])
            tops[side] = max(top - reach, points[:, 1].min()), top, min(top + reach, points[:, 1].max())
        lows, _, highs = zip(*tops.values())
        levels = np.linspace(min(lows), max(highs), CREST_LEVELS)
        slices, middle = self.landmarks.body.trunk_slices(self.vertices, levels), self.landmarks.body.limbs.middle
        crests = []
        for side, (low, top, high) in tops.items():
            profile = profile_of(slices, SIDES[side], middle, forward)
            profile[(levels < low) | (levels > high)] = -np.inf
            found = np.isfinite(profile).any()
            crests.append(middle_of_crest(levels, profile, CREST_DEPTH * self.tall) if found else top)
        return float(np.mean(crests))


def middle_of_crest(levels: Float[np.ndarray, " L"], profile: Float[np.ndarray, " L"], depth: float) -> float:
    """Middle of the stretch around the most prominent level where the profile lies less than `depth` behind it."""
    top = int(np.argmax(profile))
    bar, ends = profile[top] - depth, []
    for step in (-1, 1):
        level = top
        while 0 <= level + step < len(levels) and profile[level + step] > bar:
            level += step
        beyond = level + step
        if 0 <= beyond < len(levels) and np.isfinite(profile[beyond]):
            share = (profile[level] - bar) / (profile[level] - profile[beyond])
            ends.append(levels[level] + share * (levels[beyond] - levels[level]))
        else:
            ends.append(levels[level])
    return float(np.mean(ends))


def largest(girths: Girths, low: float, high: float) -> tuple[float, float]:
    """Largest girth between two levels, and its level: a coarse search, then a fine one around the best."""
    coarse = np.linspace(low, high, SEARCH_LEVELS)
    best = int(np.argmax(girths(coarse)))
    fine = np.linspace(coarse[max(best - 1, 0)], coarse[min(best + 1, SEARCH_LEVELS - 1)], FINE_LEVELS)
    found = girths(fine)
    return float(found.max()), float(fine[int(np.argmax(found))])


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
