"""A body's units and axes: what the user gives, else what its shape and size show, else what its file says."""

from dataclasses import replace

import numpy as np
from jaxtyping import Float

from dressform.arrays import Faces, Points
from dressform.errors import UnitsError
from dressform.formats.frames.standing import STOCKY, Stand, find_stands
from dressform.formats.frames.units import (
    STANDARD_FRONT,
    STANDARD_UP,
    UNITS,
    UPS,
    AxisOptions,
    Frame,
    ask_words,
    axis_words,
    frame_notes,
    unclear_words,
)

PLAUSIBLE_STATURE = (0.5, 2.6)
"""A standing person is so tall, metres."""

PLAUSIBLE_PART = (0.12, 0.5)
"""A head or bust alone is so tall, metres: what is stocky and shows no legs."""

CLEARLY_LONGER, FAR_LONGER = 1.5, 2.5
"""A body without evidence stands along the axis that is longer by this than the one its file says is up. Along X it
must be longer than both others by the second factor: two bodies side by side are wide, too."""


def body_frame(
    path: object,
    vertices: Points,
    faces: Faces,
    *,
    stated_unit: float | None,
    stated_up: str | None,
    told: AxisOptions,
) -> Frame:
    """Units and axes of a body: what the user gives, else what shape and size show, else what the file says.

    Raises:
        UnitsError: no unit, or more than one, makes it as tall as a person; or it stands like one in several ways.
    """
    used = vertices[np.unique(faces)]
    said = told.up or stated_up or STANDARD_UP
    stands = find_stands(vertices, faces, (told.up,) if told.up else UPS)
    stand = _chosen(path, stands, said, told)
    up = stand.up if stand else told.up or _long_axis(used, said)
    front = told.front or (stand.front if stand else STANDARD_FRONT)
    extents = np.ptp(used @ Frame(1.0, up, (), front).linear.T, axis=0)
    size = UNITS[told.units] if told.units else _unit(path, extents, bool(stands), stated_unit)
    reasons = []
    if not told.units and size != (stated_unit or UNITS["m"]):
        reasons.append(f"its height of {extents[1]:g} units")
    if up != said or (not told.front and front != STANDARD_FRONT):
        reasons.append("the way it stands" if stand else "its longest side")
    frame = Frame(size, up, (), front)
    plain = "The file says" if told == AxisOptions() else "As told:"
    notes = frame_notes(f"By {' and '.join(reasons)} this is" if reasons else plain, frame)
    if reasons and stand and not (stand.sees_front or told.front):
        notes += ("Its feet do not show which of two ways it faces: --front says.",)
    return replace(frame, notes=notes)


def _chosen(path: object, stands: tuple[Stand, ...], said: str, told: AxisOptions) -> Stand | None:
    """The one way in which it stands; that of the file where there are several."""
    as_said = [stand for stand in stands if stand.up == said and stand.front.endswith(STANDARD_FRONT)]
    chosen = as_said or list(stands)
    if len(chosen) > 1:
        could = " or ".join(f"{axis_words(stand.up)} up and front to {axis_words(stand.front)}" for stand in chosen)
        advice = "Say which with --up and --front"
        raise UnitsError.of(path, "axes", f"the body stands like a person with {could}", advice)
    return chosen[0] if chosen else None


def _long_axis(vertices: Points, said: str) -> str:
    """The axis that the file says is up, unless another is so long that the body must be lying."""
    extents = dict(zip("xyz", np.ptp(vertices, axis=0).tolist()))
    longest = max(extents, key=lambda axis: extents[axis])
    if longest == "x" != said[-1] and extents["x"] < FAR_LONGER * sorted(extents.values())[1]:
        return said
    return longest if extents[longest] > CLEARLY_LONGER * extents[said[-1]] else said


def _unit(path: object, extents: Float[np.ndarray, "3"], is_person: bool, stated_unit: float | None) -> float:
    """Length of the unit: the file's where that makes a person or a part of one, else the only one that does."""
    stated, height = stated_unit or UNITS["m"], float(extents[1])
    stocky = not is_person and min(extents[0], extents[2]) > STOCKY * height
    ranges = (PLAUSIBLE_PART, PLAUSIBLE_STATURE) if stocky else (PLAUSIBLE_STATURE,)
    if any(_within(height * stated, bounds) for bounds in ranges):
        return stated
    by_range = [[name for name, size in UNITS.items() if _within(height * size, bounds)] for bounds in ranges]
    fitting = next((names for names in by_range if names), [])
    if len(fitting) != 1:
        problem = unclear_words("body", "tall", height, fitting, stated)
        raise UnitsError.of(path, "size", problem, ask_words(fitting))
    return UNITS[fitting[0]]


def _within(length: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] <= length <= bounds[1]
