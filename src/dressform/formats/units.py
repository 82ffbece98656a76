"""Units and axes: metres and +Y up inside, whatever a file says or leaves unsaid.

A standing person is between `PLAUSIBLE_STATURE` metres tall. If metres fit, it is metres; if exactly one other unit
fits, that one is taken and said; if several or none fit, it is asked for. It is never guessed.
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.errors import ArgumentError, UnitsError

UNITS = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254}
UNIT_WORDS = {"m": "metres", "cm": "centimetres", "mm": "millimetres", "in": "inches"}
UPS = ("x", "y", "z")
PLAUSIBLE_STATURE = (0.5, 2.6)
PLAUSIBLE_GARMENT = (0.05, 3.0)
CLEARLY_TALLER = 1.5
FOOT_HEIGHT = 0.03
ANKLE_HEIGHTS = (0.05, 0.09)
CLEARLY_BACK = 0.02

TURNS = {
    "y": np.eye(3),
    "z": np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]]),
    "x": np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]),
}


@dataclass(frozen=True)
class Frame:
    """How a file's coordinates become metres with +Y up.

    Attributes:
        metres_per_unit: Length of one unit of the file.
        up: Axis of the file that points up.
        notes: What was recognised and should be said aloud.
    """

    metres_per_unit: float
    up: str
    notes: tuple[str, ...] = ()

    @property
    def linear(self) -> Float[np.ndarray, "3 3"]:
        """From file coordinates to metres, +Y up, (3, 3)."""
        return self.metres_per_unit * TURNS[self.up]


def check_options(function: str, units: str | None, up: str | None) -> None:
    """Refuse options that are no unit or no axis.

    Raises:
        ArgumentError: the valid values are listed.
    """
    if units is not None and units not in UNITS:
        raise ArgumentError.of(function, "units", f"one of {', '.join(UNITS)}", repr(units), "Name the file's unit")
    if up is not None and up not in UPS:
        raise ArgumentError.of(function, "up", f"one of {', '.join(UPS)}", repr(up), "Name the file's upward axis")


def body_frame(
    path: object,
    vertices: Float[np.ndarray, "N 3"],
    *,
    stated_unit: float | None,
    stated_up: str | None,
    units: str | None,
    up: str | None,
) -> Frame:
    """Units and axes of a body, from the options, else from its size, else from what the file says.

    Raises:
        UnitsError: no unit, or more than one, makes it as tall as a person.
    """
    extents = np.ptp(vertices, axis=0)
    axis, axis_notes = _body_up(extents, stated_up, up)
    height = float(extents[UPS.index(axis)])
    stated = stated_unit or UNITS["m"]
    if units is not None:
        return Frame(UNITS[units], axis, axis_notes)
    if _is_plausible(height * stated, PLAUSIBLE_STATURE):
        spoken = _said("The file says", stated) if stated != UNITS["m"] else ()
        return Frame(stated, axis, axis_notes + spoken)
    fitting = [name for name, size in UNITS.items() if _is_plausible(height * size, PLAUSIBLE_STATURE)]
    if len(fitting) != 1:
        raise UnitsError.of(path, "size", _unclear("body", height, fitting, stated), _ask(fitting))
    size = UNITS[fitting[0]]
    return Frame(size, axis, axis_notes + _said(f"At {height:g} units tall this must be", size))


def garment_frame(
    path: object,
    vertices: Float[np.ndarray, "N 3"],
    *,
    stated_unit: float | None,
    stated_up: str | None,
    units: str | None,
    up: str | None,
) -> Frame:
    """Units and axes of a garment on its own: what the options or the file say, if the size allows it.

    A glove in inches may be as large as a coat in metres, so a garment alone never chooses a unit; the body does
    (see `match.py`).

    Raises:
        UnitsError: the garment is smaller or larger than any garment in the unit stated.
    """
    stated = Frame(stated_unit or UNITS["m"], up or stated_up or "y")
    if units is not None:
        return Frame(UNITS[units], stated.up)
    size = float(np.ptp(vertices, axis=0).max(initial=0.0))
    if not _is_plausible(size * stated.metres_per_unit, PLAUSIBLE_GARMENT):
        fitting = [name for name, unit in UNITS.items() if _is_plausible(size * unit, PLAUSIBLE_GARMENT)]
        raise UnitsError.of(path, "size", _unclear("garment", size, fitting, stated.metres_per_unit), _ask(fitting))
    return Frame(stated.metres_per_unit, stated.up, frame_notes("The file says", stated))


def frame_notes(reason: str, frame: Frame) -> tuple[str, ...]:
    """What to say aloud of units other than metres and axes other than +Y."""
    spoken = _said(reason, frame.metres_per_unit) if frame.metres_per_unit != UNITS["m"] else ()
    return spoken + (_turned(frame.up, reason) if frame.up != "y" else ())


def _body_up(extents: Float[np.ndarray, " 3"], stated: str | None, told: str | None) -> tuple[str, tuple[str, ...]]:
    if told is not None:
        return told, ()
    axis = stated or "y"
    turned = {"y": "z", "z": "y"}.get(axis)
    if turned and extents[UPS.index(turned)] > CLEARLY_TALLER * extents[UPS.index(axis)]:
        return turned, _turned(turned, "By its shape")
    return axis, _turned(axis, "The file says") if axis != "y" else ()


def facing_notes(vertices: Float[np.ndarray, "V 3"]) -> tuple[str, ...]:
    """What to say of a body that faces away from +Z: its feet reach clearly further back than its ankles.

    On upright bodies the middle of the feet lies 3.7 to 4.9 % of the stature in front of the middle of the ankles
    (five bodies measured).
    """
    height = vertices[:, 1] - vertices[:, 1].min()
    stature = float(height.max())
    foot = vertices[height < FOOT_HEIGHT * stature, 2]
    ankle = vertices[(height > ANKLE_HEIGHTS[0] * stature) & (height < ANKLE_HEIGHTS[1] * stature), 2]
    if not (foot.size and ankle.size) or _middle(foot) - _middle(ankle) > -CLEARLY_BACK * stature:
        return ()
    return ("Its toes point to −Z, so front and back are named the wrong way round: turn it to face +Z.",)


def _middle(values: Float[np.ndarray, " N"]) -> float:
    return float(values.min() + values.max()) / 2


def _turned(axis: str, reason: str) -> tuple[str, ...]:
    return (f"{reason} +{axis.upper()} points up; it was turned to +Y up.",)


def _is_plausible(length: float, bounds: tuple[float, float]) -> bool:
    return bounds[0] <= length <= bounds[1]


def unit_words(size: float) -> str:
    """Name of a unit by its length in metres."""
    known = [UNIT_WORDS[name] for name, metres in UNITS.items() if np.isclose(size, metres, rtol=1e-6)]
    return known[0] if known else f"units of {size:g} m"


def _said(reason: str, size: float) -> tuple[str, ...]:
    return (f"{reason} {unit_words(size)}; it was converted to metres.",)


def _unclear(kind: str, size: float, fitting: list[str], stated: float) -> str:
    measured = f"the {kind} is {size:.3g} units {'tall' if kind == 'body' else 'long'}"
    if not fitting:
        return f"{measured}: no {kind} in metres, centimetres, millimetres or inches"
    could = " or ".join(f"{size * UNITS[name]:.3g} m if in {UNIT_WORDS[name]}" for name in fitting)
    return f"{measured}, {size * stated:.3g} m as the file stands; it could be {could}"


def _ask(fitting: list[str]) -> str:
    names = " or ".join(f"--units {name}" for name in fitting or UNITS)
    return f"Say which with {names}"
