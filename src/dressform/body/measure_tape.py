"""A tape laid on one shape: the heights it goes by, the outlines it goes around, and what it reads."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import BodyPoints
from dressform.body.measure_landmarks import Landmarks
from dressform.body.measure_limbs import SIDES
from dressform.body.measure_slices import profile_of
from dressform.errors import MeshError

CREST_REACH, CREST_LEVELS = 0.025, 31
"""How far above and below its farthest vertex the crest of bust or seat is sought, of stature, and how finely."""

CREST_DEPTH = 0.0005
"""The crest is what reaches as far as the farthest level but for this, of stature: less than a millimetre."""

SEARCH_LEVELS = 12
FINE_LEVELS = 5
LIMB_SIDES = ("right", "left")
"""A limb is measured on the right; on the left where the right cannot be."""

Girths = Callable[[Float[np.ndarray, " L"]], Float[np.ndarray, " L"]]


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
