"""Finds a garment's units and axes from the body that it is modelled on.

A garment is taken as it was written: in the units and axes that its file states, or in those of its body, as both come
from one scene. Only if it lies nowhere near the body in these is another reading looked for. So sunglasses before the
eyes stay there, however much nearer they would lie on the back of the head.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.errors import FileError, UnitsError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.frames.placement import CLEARLY_NEARER, FAR_BETTER, Placements
from dressform.formats.frames.units import (
    FRONTS,
    STANDARD_FRONT,
    STANDARD_UP,
    UNITS,
    UPS,
    AxisOptions,
    Frame,
    ask_words,
    frame_notes,
    frame_words,
    unclear_words,
)
from dressform.mesh.tree import Tree

PLAUSIBLE_SIZE = (0.01, 2.0)
"""The longest side of a garment that a file may state, of stature: from a ring to wings."""

SOUGHT_SIZE = (0.03, 1.8)
"""Stricter bounds for a reading that nobody stated, of stature."""

LIKELY_UPS, UNLIKELY_UP, UNLIKELY_FRONT = ("y", "z"), 1.5, 3.0
"""A reading that nobody stated costs more by these with another axis up, or with another front than the body's: which
way a skirt or a hat faces, the distance to the skin hardly tells."""

MAX_LISTED = 3

GARMENT_ALONE = (0.05, 3.0)
"""Without a body to compare it with, a garment is so long, metres."""


def frame_beside(
    path: Path,
    stored: FileMesh,
    body: Body,
    *,
    told: AxisOptions | None = None,
    stated: Frame | None = None,
    tree: Tree | None = None,
) -> Frame:
    """Units and axes in which a garment lies on a body.

    Units and axes that the user gives are used, whatever the result. Of the rest, what the file says is kept if the
    garment may
    be worn so, else what its body's file was read by. If neither will do, another reading is taken that lies clearly
    nearer than all others.

    Args:
        path: The garment's file, for messages.
        stored: The garment as stored, not yet converted.
        body: The body it is worn on.
        told: What the user says.
        stated: What to take for the file's word; what `stored` says where left out.
        tree: Search tree of the body, where there is one already.

    Raises:
        UnitsError: several readings fit, or another one fits far better than the stated one; they are named.
        FileError: none does: the garment lies nowhere near the body.

    Proof: tests/formats/test_beside.py::test_a_pair_is_read_right_or_refused_from_every_axis_and_unit
    """
    told = told or AxisOptions()
    like = _with_options(Frame.of_linear(body.from_file), told)
    first = (stated,) if stated else _stated(stored, like, told)
    if told.units and told.up:
        return replace(first[0], notes=_notes(first[0], stored, told))
    placements = Placements(stored, body, tree)
    bounds = (0.0, np.inf) if told.units else PLAUSIBLE_SIZE
    sized = [frame for frame in first if bounds[0] <= placements.size(frame) <= bounds[1]]
    worn = [frame for frame in sized if placements.at(frame).is_worn]
    if worn:
        bar = placements.at(worn[0]).cost / CLEARLY_NEARER
        kept = next((frame for frame in worn[1:] if placements.at(frame).cost < bar), worn[0])
        _refuse_far_better(path, placements, kept, _readings(kept, told))
        return replace(kept, notes=_notes(kept, stored, told))
    found = _sought(path, placements, first, _readings(first[0], told))
    attached = next((frame for frame in sized if placements.at(frame).is_attached), None)
    if attached and not (found and placements.at(found).cost * FAR_BETTER < placements.at(attached).cost):
        return replace(attached, notes=_notes(attached, stored, told))
    if found is None:
        raise _nowhere(path, first[0], body, placements)
    return replace(found, notes=frame_notes("Only so does it lie on the body:", found))


def garment_frame(path: object, stored: FileMesh, *, told: AxisOptions) -> Frame:
    """Units and axes of a garment on its own: what the user gives or the file says, if the size allows it.

    Raises:
        UnitsError: the garment is smaller or larger than any garment in the unit stated.
    """
    stated = _with_options(Frame(stored.metres_per_unit or UNITS["m"], stored.up or STANDARD_UP), told)
    if not told.units:
        size = float(np.ptp(stored.vertices[np.unique(stored.faces)], axis=0).max(initial=0.0))
        if not GARMENT_ALONE[0] <= size * stated.metres_per_unit <= GARMENT_ALONE[1]:
            fitting = [name for name, unit in UNITS.items() if GARMENT_ALONE[0] <= size * unit <= GARMENT_ALONE[1]]
            problem = unclear_words("garment", "long", size, fitting, stated.metres_per_unit)
            raise UnitsError.of(path, "size", problem, ask_words(fitting))
    return replace(stated, notes=frame_notes("The file says" if told == AxisOptions() else "As told:", stated))


def _stated(stored: FileMesh, like: Frame, told: AxisOptions) -> tuple[Frame, ...]:
    """What the file says, then what its body's file was read by; the other way round where the file says nothing."""
    up = stored.up or STANDARD_UP
    front = like.front if up == like.up or told.front else STANDARD_FRONT
    said = _with_options(Frame(stored.metres_per_unit or UNITS["m"], up, (), front), told)
    both = (like, said) if stored.metres_per_unit is None else (said, like)
    return both[:1] if said.is_like(like) else both


def _with_options(frame: Frame, told: AxisOptions) -> Frame:
    """A reading with the user's values put in, without notes."""
    size = UNITS[told.units] if told.units else frame.metres_per_unit
    return Frame(size, told.up or frame.up, (), told.front or frame.front)


def _readings(stated: Frame, told: AxisOptions) -> list[Frame]:
    """Every reading that contradicts nothing that the user says."""
    sizes = (UNITS[told.units],) if told.units else tuple(dict.fromkeys([stated.metres_per_unit, *UNITS.values()]))
    ups, faces = (told.up,) if told.up else UPS, (told.front,) if told.front else FRONTS
    return [Frame(size, up, (), front) for size in sizes for up in ups for front in faces]


def _refuse_far_better(path: Path, placements: Placements, kept: Frame, readings: list[Frame]) -> None:
    """Ask, where the garment would lie far better in another reading than in the one that is stated."""
    own = placements.at(kept)
    for frame in readings:
        if not (SOUGHT_SIZE[0] <= placements.size(frame) <= SOUGHT_SIZE[1]) or frame.is_like(kept):
            continue
        other = placements.at(frame)
        if other.is_sought and other.is_far_better(own):
            problem = (
                f"the garment is in {frame_words(kept)} as it stands, {own.inside:.0%} of it inside the body, but "
                f"would lie {own.cost / other.cost:.2g} times nearer to the skin in {frame_words(frame)}"
            )
            raise UnitsError.of(path, "axes", problem, "Say which with --garment-units and --garment-up")


def _sought(path: Path, placements: Placements, first: tuple[Frame, ...], readings: list[Frame]) -> Frame | None:
    """The reading that lies clearly nearer than all others; None where none lies near.

    Raises:
        UnitsError: several lie as near; they are listed.
    """
    ups = {*LIKELY_UPS, *(frame.up for frame in first)}
    fronts = {STANDARD_FRONT, *(frame.front for frame in first)}

    def cost(frame: Frame) -> float:
        unlikely = (1.0 if frame.up in ups else UNLIKELY_UP) * (1.0 if frame.front in fronts else UNLIKELY_FRONT)
        return unlikely * placements.at(frame).cost

    fitting = [frame for frame in readings if SOUGHT_SIZE[0] <= placements.size(frame) <= SOUGHT_SIZE[1]]
    near = sorted((frame for frame in fitting if placements.at(frame).is_attached), key=cost)
    if not near or not placements.at(near[0]).is_sought:
        return None
    rivals = [frame for frame in near if cost(frame) < CLEARLY_NEARER * cost(near[0])]
    if len(rivals) > 1:
        could = " or ".join(frame_words(frame) for frame in rivals[:MAX_LISTED])
        more = " and others" if len(rivals) > MAX_LISTED else ""
        advice = "Say which with --garment-units and --garment-up"
        raise UnitsError.of(path, "size", f"the garment could be in {could}{more}", advice)
    return near[0]


def _notes(frame: Frame, stored: FileMesh, told: AxisOptions) -> tuple[str, ...]:
    """What to say aloud of a reading that was stated by the user, the file, or the body's file."""
    said = Frame(stored.metres_per_unit or UNITS["m"], stored.up or STANDARD_UP)
    if told != AxisOptions():
        is_all_told = frame.is_like(_with_options(said, told))
        return frame_notes("As told:" if is_all_told else "As told, and as its body was read:", frame)
    return frame_notes("The file says" if frame.is_like(said) else "Read as its body was:", frame)


def _nowhere(path: Path, stated: Frame, body: Body, placements: Placements) -> FileError:
    away, long = placements.at(stated).median * placements.stature, placements.longest
    problem = (
        f"the garment is {long:.3g} units long ({long * stated.metres_per_unit:.3g} m as the file "
        f"stands) and lies nowhere near the body, {body.stature:.3g} m tall; it is {away:.2g} m from the skin"
    )
    advice = "Move it onto the body, or say both --garment-units and --garment-up, which are then taken at their word"
    return FileError.of(path, "place", problem, advice)
