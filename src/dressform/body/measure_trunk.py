"""Levels of the trunk, found at the base: waist, the fold under the bust, chest, seat, neck."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float

from dressform.body.measure_limbs import SIDES
from dressform.body.measure_marks import UP, Mark, Standing
from dressform.body.measure_slices import Slices, cut

WAIST_WINDOW = (0.35, 0.78)
"""Between which heights the waist is looked for, as shares of the way from the crotch to the armpits."""

MIN_FOLD = 0.005
"""At the fold under the bust the girth is at least this much below the straight line from waist to bust, of stature."""

BELOW_FOLD = 0.002
"""How far below the fold the tape lies, of stature: a tape on the fold itself would take in the breast."""

FINE_LEVELS = 17

NECK_WINDOW = (0.04, 0.16)
"""Between which distances above the armpits the neck is looked for, of stature."""

NECK_TILTS = np.radians(np.arange(0.0, 41.0, 5.0))
"""Tilts of the tape around the neck that are tried, lower in front."""

TRUNK_MARKS = ("waist", "under-bust", "bust", "seat", "neck front", "neck back")


@dataclass(frozen=True)
class Trunk:
    """Marks of the trunk, masks of its prominences, and why some are missing.

    Attributes:
        marks: `waist`, `under-bust`, `neck front`, `neck back`.
        bust: Vertices of the chest in front between fold (or waist) and armpits, per side, (B,).
        seat: Vertices behind between crotch and waist, per side, (B,).
        missing: Reasons, by the mark's name.
    """

    marks: dict[str, Mark]
    bust: dict[str, Bool[np.ndarray, " B"]]
    seat: dict[str, Bool[np.ndarray, " B"]]
    missing: dict[str, str]


def find_trunk(body: Standing) -> Trunk:
    """All levels of the trunk; needs arms and legs, without which trunk and limbs cannot be told apart."""
    found = Trunk({}, {}, {}, {})
    limbs = body.limbs
    if limbs.missing:
        reason = next(iter(limbs.missing.values()))
        found.missing.update(
            {name: reason for name in ("waist", "under-bust", "bust", "seat", "neck front", "neck back")}
        )
        return found
    slices = body.trunk_slices(body.vertices, body.levels(body.crotch, body.armpit)[1:-1])
    girths = slices.girths()
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
            # The belly below the fold may stand out farther than the chest; half-way up from it nothing else does.
            low = 0.5 * (float(slices.levels[bust]) + (top_of_seat if fold is None else fold))
            found.bust[side] = half & (height > low) & (height < body.armpit)
    _neck(body, found)
    return found


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
    """Height of the fold under the bust: where the girth, going up, stops being the ribs' and takes in the breast.

    It is the corner of the curve of girth over height between waist and bust, the point farthest below its chord.
    """
    levels = slices.levels
    chord = np.array([levels[[waist, bust]], girths[[waist, bust]]])
    below = np.interp(levels, *chord)[waist : bust + 1] - girths[waist : bust + 1]
    corner = waist + int(np.argmax(below))
    if below[corner - waist] < MIN_FOLD * body.stature:
        found.missing["under-bust"] = "the chest of the base body has no fold below it"
        return None
    near = np.linspace(levels[corner - 1], levels[corner + 1], FINE_LEVELS)
    fine = body.trunk_slices(body.vertices, near)
    height = float(near[int(np.argmax(np.interp(near, *chord) - fine.girths()))])
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
    profile = np.zeros(len(slices.levels))
    for sign in SIDES.values():
        side = np.full(len(slices.levels), -np.inf)
        chosen = sign * (slices.pieces[..., 0] - middle) >= 0
        depth = np.where(chosen, slices.pieces[..., 2], -np.inf).max(axis=1)
        np.maximum.at(side, slices.level, depth)
        profile += side / len(SIDES)
    return profile


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
        slices = cut(body.vertices, faces, normal, body.levels(seed @ normal - reach, seed @ normal + reach))
        slices = slices.keep(slices.touching(core))
        girths = np.where(slices.girths() > 0, slices.girths(), np.inf)
        if best is None or girths.min() < best[0]:
            best = float(girths.min()), slices.keep(slices.level == np.argmin(girths))
    assert best is not None
    found.marks["neck front"] = Mark.of_extreme(best[1], np.array([0.0, 0.0, 1.0]))
    found.marks["neck back"] = Mark.of_extreme(best[1], np.array([0.0, 0.0, -1.0]))
