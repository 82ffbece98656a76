"""A garment's units and axes, told by the body that it is modelled on.

A glove in inches may be as large as a coat in metres, so a garment alone cannot say. On its body it can: in the right
unit and with the right axis up it lies within a hand's breadth of the skin, and nowhere near it in the others.
"""

from pathlib import Path

import numpy as np
from jaxtyping import Float

from dressform.body.body import Body
from dressform.errors import FileError, UnitsError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.units import PLAUSIBLE_GARMENT, UNITS, Frame, frame_notes, unit_words
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree

NEAR_SHARE = 0.12
CLEARLY_NEARER = 2.0
SAMPLES = 1000
LIKELY_UPS = ("y", "z")


def frame_beside(
    path: Path,
    stored: FileMesh,
    body: Body,
    *,
    units: str | None = None,
    up: str | None = None,
    stated: Frame | None = None,
    tree: Tree | None = None,
) -> Frame:
    """Units and axes in which a garment lies on a body.

    A reading is judged by the median distance from garment to skin: it must be under `NEAR_SHARE` of the stature, and
    the smaller it is as a share of the garment's own size, the better (a shrunken garment between the feet is near the
    skin, but not for its size). What the file says (else metres, +Y up) is kept unless another reading is
    `CLEARLY_NEARER` times better; a reading that is so much better than all others is taken.

    Args:
        path: The garment's file, for messages.
        stored: The garment as stored, not yet converted.
        body: The body it is worn on, metres, +Y up.
        units: Told by the user, or None.
        up: Told by the user, or None.
        stated: What to take for the file's word; what `stored` says where left out.
        tree: Search tree of the body, where there is one already.

    Raises:
        UnitsError: several readings fit; they are listed.
        FileError: none does: the garment lies nowhere near the body.
    """
    said = stated or Frame(stored.metres_per_unit or UNITS["m"], stored.up or "y")
    stated = Frame(UNITS[units] if units else said.metres_per_unit, up or said.up)
    tree = tree or Tree(body.vertices, body.faces)
    readings = {frame: _distance(stored, frame, tree) for frame in _readings(stated, units, up)}
    size = _size(stored)
    near = {
        frame: found / (size * frame.metres_per_unit)
        for frame, found in readings.items()
        if found <= NEAR_SHARE * body.stature
    }
    if not near:
        raise _nowhere(path, stored, stated, body, readings)
    best = min(near, key=lambda frame: near[frame])
    rivals = [frame for frame, found in near.items() if frame != best and found < CLEARLY_NEARER * near[best]]
    if stated in near and (stated == best or stated in rivals):
        return Frame(stated.metres_per_unit, stated.up, frame_notes("The file says", stated) if not units else ())
    if rivals:
        could = " or ".join(f"{frame_words(frame)}" for frame in (best, *rivals))
        raise UnitsError.of(path, "size", f"the garment could be in {could}", "Say which with --units and --up")
    return Frame(best.metres_per_unit, best.up, frame_notes("Only so does it lie on the body:", best))


def _readings(stated: Frame, units: str | None, up: str | None) -> list[Frame]:
    sizes = [stated.metres_per_unit] if units else dict.fromkeys([stated.metres_per_unit, *UNITS.values()])
    ups = [stated.up] if up else dict.fromkeys([stated.up, *LIKELY_UPS])
    return [Frame(size, axis) for axis in ups for size in sizes]


def _distance(stored: FileMesh, frame: Frame, tree: Tree) -> float:
    """Median distance from the garment to the skin; infinite where no garment is so small or large."""
    if not PLAUSIBLE_GARMENT[0] <= _size(stored) * frame.metres_per_unit <= PLAUSIBLE_GARMENT[1]:
        return float("inf")
    return float(np.median(closest(tree, _samples(stored) @ frame.linear.T).distances))


def _size(stored: FileMesh) -> float:
    """Longest side of the garment's box, in its own units."""
    return float(np.ptp(stored.vertices[stored.faces.ravel()], axis=0).max())


def _samples(stored: FileMesh) -> Float[np.ndarray, "S 3"]:
    used = np.unique(stored.faces)
    return stored.vertices[used[np.linspace(0, len(used) - 1, min(SAMPLES, len(used))).astype(np.int64)]]


def _nowhere(path: Path, stored: FileMesh, stated: Frame, body: Body, readings: dict[Frame, float]) -> FileError:
    size = _size(stored)
    closest_by = min(readings.values())
    far = "" if np.isinf(closest_by) else f"; at best it is {closest_by:.2g} m from the skin"
    problem = (
        f"the garment is {size:.3g} units long ({size * stated.metres_per_unit:.3g} m as the file stands) and lies "
        f"nowhere near the body, {body.stature:.3g} m tall{far}"
    )
    return FileError.of(path, "place", problem, "Move it onto the body, or say --units and --up")


def frame_words(frame: Frame) -> str:
    """The frame as a message names it."""
    return f"{unit_words(frame.metres_per_unit)} with +{frame.up.upper()} up"
