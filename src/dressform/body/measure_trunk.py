"""Levels of the trunk, found at the base: waist, the fold under the bust, chest, seat, neck."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float

from dressform.body.measure_limbs import SIDES
from dressform.body.measure_marks import BRIDGED, UP, Mark, Standing
from dressform.body.measure_slices import Slices, cut, profile_of

WAIST_WINDOW = (0.35, 0.78)
"""Heights between which the waist is sought, as shares of the distance from the crotch to the armpits."""

MIN_FOLD = 0.005
"""Above a fold under the bust the girth lies this much below the line from waist to bust somewhere, of stature."""

BELOW_FOLD = 0.002
"""How far below the fold the tape lies, of stature: a tape on the fold itself would take in the breast."""

FOLD_SHARE = 0.1
"""Growth of the girth at the fold, as a share of the step from the ribs' growth to the fastest, the breast's."""

SEAT_FOLD_REACH = 0.03
"""How far above and below the crotch the fold of the buttock is sought, of stature."""

SEAT_FOLD_ARM = 0.009
"""The profile turns at the fold between two points this far above and below it, of stature."""

SEAT_FOLD_LEVELS = 79

MIN_SEAT_FOLD = 0.001
"""At the fold the profile lies at least this far before the middle of those two points, of stature."""

NECK_WINDOW = (0.04, 0.16)
"""Distances above the armpits between which the neck is sought, of stature."""

NECK_TILTS = np.radians(np.arange(0.0, 41.0, 5.0))
"""Tilts of the tape around the neck that are tried, lower in front."""

SEAT_FOLD = "fold of the buttock"


@dataclass(frozen=True)
class Trunk:
    """Marks of the trunk, masks of its prominences, and why some are missing.

    Attributes:
        marks: `waist`, `under-bust`, `neck front`, `neck back`, `left fold of the buttock`, the same on the right.
        bust: Vertices of the chest in front between fold (or waist) and armpits, per side, (B,).
        seat: Vertices behind between crotch and waist, per side, (B,).
        missing: Reasons, by the mark's name.
    """

    marks: dict[str, Mark]
    bust: dict[str, Bool[np.ndarray, " B"]]
    seat: dict[str, Bool[np.ndarray, " B"]]
    missing: dict[str, str]


def find_trunk(body: Standing) -> Trunk:
    """Find all levels of the trunk; needs arms and legs, so that trunk and limbs can be separated."""
    found = Trunk({}, {}, {}, {})
    limbs = body.limbs
    if limbs.missing:
        reason = next(iter(limbs.missing.values()))
        found.missing.update(
            {name: reason for name in ("waist", "under-bust", "bust", "seat", "neck front", "neck back")}
        )
        return found
    _seat_folds(body, found)
    slices = body.trunk_slices(body.vertices, body.levels(body.crotch, body.armpit)[1:-1])
    girths = _without_gaps(slices.levels, slices.girths())
    waist = _waist(slices, girths, found)
    if waist is None:
        found.missing["under-bust"] = found.missing["bust"] = found.missing["waist"]
    bust = None if waist is None else _bust(slices, limbs.middle, waist, found)
    top_of_seat = 0.5 * (body.crotch + body.armpit) if waist is None else float(slices.levels[waist])
    fold = None
    if waist is not None and bust is not None:
        fold = _fold(body, slices, girths, waist, bust, found)
    trunk = np.zeros(len(body.vertices), dtype=bool)
    trunk[body.faces[limbs.shell & ~body.arm_faces]] = True
    for side, sign in SIDES.items():
        half = trunk & (sign * (body.vertices[:, 0] - limbs.middle) > 0)
        height = body.vertices[:, 1]
        found.seat[side] = half & (height > body.crotch) & (height < top_of_seat)
        if bust is not None:
            # The belly below the fold may stand out farther than the chest; above half-way up nothing else does.
            low = 0.5 * (float(slices.levels[bust]) + (top_of_seat if fold is None else fold))
            found.bust[side] = half & (height > low) & (height < body.armpit)
    _neck(body, found)
    return found


def _without_gaps(levels: Float[np.ndarray, " L"], girths: Float[np.ndarray, " L"]) -> Float[np.ndarray, " L"]:
    """Girths with those of the levels between two parts, where there is no outline, taken from their neighbours."""
    found = girths > 0
    return np.interp(levels, levels[found], girths[found]) if found.any() else girths


def _waist(slices: Slices, girths: Float[np.ndarray, " L"], found: Trunk) -> int | None:
    """Level of the smallest girth between hip and chest, where there is one that is smaller than both ends."""
    count = len(girths) - 1
    low, high = round(WAIST_WINDOW[0] * count), round(WAIST_WINDOW[1] * count)
    level = low + int(np.argmin(girths[low : high + 1]))
    if level in (low, high):
        found.missing["waist"] = "the trunk of the base body does not narrow between hip and chest"
        return None
    found.marks["waist"] = Mark.of_outline(slices.keep(slices.level == level))
    return level


def _fold(
    body: Standing, slices: Slices, girths: Float[np.ndarray, " L"], waist: int, bust: int, found: Trunk
) -> float | None:
    """Height of the fold under the bust: where the girth, going up, stops growing as the ribs do.

    Between waist and bust the girth first grows with the ribs, then faster with the breast. The ribs' growth is the
    median one between the waist and the level where the girth grows fastest. The fold is the last level below that
    one where the growth exceeds the ribs' by less than `FOLD_SHARE` of the step to the fastest growth. There is a fold
    only if the curve of the girth lies at least `MIN_FOLD` below the straight line from waist to bust.
    """
    levels = slices.levels
    chord = np.interp(levels, levels[[waist, bust]], girths[[waist, bust]])
    if (chord - girths)[waist : bust + 1].max() < MIN_FOLD * body.stature:
        found.missing["under-bust"] = "the chest of the base body has no fold below it"
        return None
    growth = np.diff(girths[waist : bust + 1]) / np.diff(levels[waist : bust + 1])
    fastest = int(np.argmax(growth))
    ribs = float(np.median(growth[: fastest + 1]))
    bar = ribs + FOLD_SHARE * float(growth[fastest] - ribs)
    below = int(np.max(np.flatnonzero(growth[: fastest + 1] <= bar), initial=0))
    share = np.interp(bar, growth[below : below + 2], [0.0, 1.0]) if below < fastest else 0.0
    middles = 0.5 * (levels[waist:bust] + levels[waist + 1 : bust + 1])
    height = float(middles[below] + share * (levels[1] - levels[0]))
    tape = body.trunk_slices(body.vertices, np.array([height - BELOW_FOLD * body.stature]))
    found.marks["under-bust"] = Mark.of_outline(tape)
    return height


def _bust(slices: Slices, middle: float, waist: int, found: Trunk) -> int | None:
    """Level of the most prominent chest: the crest of the front that stands out farthest from waist and armpits."""
    front = _front(slices, middle)
    levels, top = slices.levels, len(slices.levels) - 1
    chord = np.interp(levels, levels[[waist, top]], front[[waist, top]])
    bust = waist + int(np.argmax((front - chord)[waist:]))
    while waist < bust < top and max(front[bust - 1], front[bust + 1]) > front[bust]:
        bust += 1 if front[bust + 1] > front[bust - 1] else -1
    if not waist + 1 < bust < top - 1:
        found.missing["bust"] = "the chest of the base body has no crest between waist and armpits"
        found.missing["under-bust"] = found.missing["bust"]
        return None
    return bust


def _front(slices: Slices, middle: float) -> Float[np.ndarray, " L"]:
    """How far forward the outline reaches at each level, the mean of both sides, (L,), metres."""
    return np.mean([profile_of(slices, side, middle, 1.0) for side in SIDES.values()], axis=0)


def _seat_folds(body: Standing, found: Trunk) -> None:
    """The fold below each buttock: where the profile behind, going up, turns outward from leg to seat most sharply."""
    reach, arm = (share * body.stature for share in (SEAT_FOLD_REACH, SEAT_FOLD_ARM))
    levels = np.linspace(body.crotch - reach - arm, body.crotch + reach + arm, SEAT_FOLD_LEVELS)
    slices = body.cut(body.vertices, UP, levels)
    slices = slices.keep(slices.touching(body.limbs.shell) & ~slices.touching(body.arm_faces))
    middles = levels[(levels > levels[0] + arm) & (levels < levels[-1] - arm)]
    for side, sign in SIDES.items():
        profile = profile_of(slices, sign, body.limbs.middle, -1.0)
        above, at, below = (np.interp(middles + step, levels, profile) for step in (arm, 0.0, -arm))
        turn = np.where(np.isfinite(above + at + below), (above + below) / 2 - at, -np.inf)
        sharpest = int(np.argmax(turn))
        if turn[sharpest] < MIN_SEAT_FOLD * body.stature:
            found.missing[f"{side} {SEAT_FOLD}"] = "the base body has no fold below the buttock"
            continue
        ring = body.cut(body.vertices, UP, middles[[sharpest]])
        own = (sign * (ring.pieces[..., 0] - body.limbs.middle) >= 0).all(axis=1)
        ring = ring.keep(ring.touching(body.limbs.shell) & ~ring.touching(body.arm_faces) & own)
        found.marks[f"{side} {SEAT_FOLD}"] = Mark.of_extreme(ring, np.array([0.0, 0.0, -1.0]))


def _neck(body: Standing, found: Trunk) -> None:
    """The smallest girth between shoulders and head over heights and tilts of the tape: it lies across the neck."""
    low, high = (body.armpit + share * body.stature for share in NECK_WINDOW)
    faces, core = body.faces[body.upper], body.limbs.core[body.upper]
    level = cut(body.vertices, faces, UP, body.levels(low, high))
    narrow = int(np.argmin(np.where(level.girths() > 0, level.girths(), np.inf)))
    if narrow in (0, len(level.levels) - 1):
        found.missing["neck front"] = found.missing["neck back"] = "no narrowing between shoulders and head"
        return
    seed = level.centres()[narrow]
    best: tuple[float, Slices] | None = None
    for tilt in NECK_TILTS:
        normal = np.array([0.0, np.cos(tilt), np.sin(tilt)])
        reach = 0.02 * body.stature
        levels = body.levels(seed @ normal - reach, seed @ normal + reach)
        slices = cut(body.vertices, faces, normal, levels, bridged=BRIDGED * body.stature)
        slices = slices.keep(slices.touching(core))
        girths = np.where(slices.girths() > 0, slices.girths(), np.inf)
        if best is None or girths.min() < best[0]:
            best = float(girths.min()), slices.keep(slices.level == np.argmin(girths))
    assert best is not None
    found.marks["neck front"] = Mark.of_extreme(best[1], np.array([0.0, 0.0, 1.0]))
    found.marks["neck back"] = Mark.of_extreme(best[1], np.array([0.0, 0.0, -1.0]))
