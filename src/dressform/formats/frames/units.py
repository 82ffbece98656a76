"""Units and axes: metres, +Y up and +Z front inside, whatever a file says or leaves unsaid.

A frame is how a file's coordinates become that: the length of its unit, the axis that points up, and the axis that the
front points to once +Y is up. `beside.py` finds the frame of a garment, `standing.py` tells how a body stands.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.errors import ArgumentError

UNITS = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254}
UNIT_WORDS = {"m": "metres", "cm": "centimetres", "mm": "millimetres", "in": "inches"}
UPS = ("x", "y", "z", "-x", "-y", "-z")
FRONTS = ("z", "-z", "x", "-x")
STANDARD_UP, STANDARD_FRONT = "y", "z"
SAME_SIZE = 1e-6

_TURNS = {
    "y": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "z": ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
    "x": ((0, -1, 0), (1, 0, 0), (0, 0, 1)),
    "-y": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "-z": ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    "-x": ((0, 1, 0), (-1, 0, 0), (0, 0, 1)),
}
"""Rows of the rotation that turns each axis up; where it can be, about X."""

_FACINGS = {
    "z": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "-z": ((-1, 0, 0), (0, 1, 0), (0, 0, -1)),
    "x": ((0, 0, -1), (0, 1, 0), (1, 0, 0)),
    "-x": ((0, 0, 1), (0, 1, 0), (-1, 0, 0)),
}
"""Rows of the rotation about Y that turns each axis to the front."""


@dataclass(frozen=True)
class Frame:
    """How a file's coordinates become metres with +Y up and +Z front.

    Attributes:
        metres_per_unit: Length of one unit of the file.
        up: Axis of the file that points up.
        notes: Notes on what was recognised, to be shown.
        front: Axis that the front points to once +Y is up.
    """

    metres_per_unit: float
    up: str = STANDARD_UP
    notes: tuple[str, ...] = ()
    front: str = STANDARD_FRONT

    @property
    def linear(self) -> Float[np.ndarray, "3 3"]:
        """From file coordinates to metres, +Y up, +Z front, (3, 3)."""
        return self.facing @ (self.metres_per_unit * np.array(_TURNS[self.up], dtype=np.float64))

    @property
    def facing(self) -> Float[np.ndarray, "3 3"]:
        """The part of it that turns the front to +Z, a rotation about Y, (3, 3)."""
        return np.array(_FACINGS[self.front], dtype=np.float64)

    @classmethod
    def of_linear(cls, linear: Float[np.ndarray, "3 3"]) -> "Frame":
        """The frame with this `linear`, without notes.

        Raises:
            ArgumentError: no axis of the file would point up or to the front.
        """
        size = float(np.cbrt(np.linalg.det(linear)))
        for frame in (cls(size, up, (), front) for up in UPS for front in FRONTS):
            if np.allclose(frame.linear, linear, rtol=0.0, atol=SAME_SIZE * abs(size)):
                return frame
        rule = "a quarter turn or several, times a length"
        raise ArgumentError.of("Frame.of_linear", "linear", rule, np.round(linear, 6).tolist(), "Read the file again")

    def is_like(self, other: "Frame") -> bool:
        """Whether both read a file alike; notes do not count."""
        same_size = bool(np.isclose(self.metres_per_unit, other.metres_per_unit, rtol=SAME_SIZE))
        return same_size and (self.up, self.front) == (other.up, other.front)

    @property
    def is_standard(self) -> bool:
        """Whether it changes nothing: metres, +Y up, +Z front."""
        return self.is_like(Frame(UNITS["m"]))


@dataclass(frozen=True)
class AxisOptions:
    """What the user says of a file's coordinates; None where it is to be recognised.

    Attributes:
        units: One of `UNITS`.
        up: One of `UPS`.
        front: One of `FRONTS`.
    """

    units: str | None = None
    up: str | None = None
    front: str | None = None

    def check(self, function: str) -> "AxisOptions":
        """The same, once it is known to name units and axes.

        Raises:
            ArgumentError: the valid values are listed.
        """
        for argument, value, known, advice in (
            ("units", self.units, tuple(UNITS), "Name the file's unit"),
            ("up", self.up, UPS, "Name the file's upward axis"),
            ("front", self.front, FRONTS, "Name the axis that the front points to once +Y is up"),
        ):
            if value is not None and value not in known:
                raise ArgumentError.of(function, argument, f"one of {', '.join(known)}", repr(value), advice)
        return self


def frame_notes(reason: str, frame: Frame) -> tuple[str, ...]:
    """A note of one sentence on a file that was rescaled or turned; none if it was not.

    Args:
        reason: How the frame was recognised, as the beginning of the sentence: "The file says".
        frame: How the file was read.
    """
    changes, said = [], []
    if not np.isclose(frame.metres_per_unit, UNITS["m"], rtol=SAME_SIZE):
        said.append(unit_words(frame.metres_per_unit))
        changes.append("converted to metres")
    if frame.up != STANDARD_UP:
        said.append(f"{axis_words(frame.up)} up")
        changes.append("turned to +Y up")
    if frame.front != STANDARD_FRONT:
        said.append(f"front to {axis_words(frame.front)}")
        changes.append("turned to face +Z")
    if not said:
        return ()
    done = " and ".join([", ".join(changes[:-1]), changes[-1]] if changes[1:] else changes)
    return (f"{reason} {', '.join(said)}; it was {done}.",)


def frame_words(frame: Frame) -> str:
    """The frame as a message names it."""
    front = "" if frame.front == STANDARD_FRONT else f", front to {axis_words(frame.front)}"
    return f"{unit_words(frame.metres_per_unit)} with {axis_words(frame.up)} up{front}"


def unit_words(size: float) -> str:
    """Name of a unit by its length in metres."""
    known = [UNIT_WORDS[name] for name, metres in UNITS.items() if np.isclose(size, metres, rtol=SAME_SIZE)]
    return known[0] if known else f"units of {size:g} m"


def axis_words(axis: str) -> str:
    """`-z` as −Z, `z` as +Z."""
    return f"−{axis[1:].upper()}" if axis.startswith("-") else f"+{axis.upper()}"


def unclear_words(what: str, extent: str, size: float, fitting: Sequence[str], stated: float) -> str:
    """How large something is whose unit is not clear, and what it may be: `the body is 180 units tall, …`."""
    measured = f"the {what} is {size:.3g} units {extent}"
    if not fitting:
        return f"{measured}: no {what} in metres, centimetres, millimetres or inches"
    could = " or ".join(f"{size * UNITS[name]:.3g} m if in {UNIT_WORDS[name]}" for name in fitting)
    return f"{measured}, {size * stated:.3g} m as the file stands; it could be {could}"


def ask_words(fitting: Sequence[str]) -> str:
    """The options with which the user may tell the unit."""
    return f"Say which with {' or '.join(f'--units {name}' for name in fitting or UNITS)}"
