"""Words of the command line turned into values, and the options that several commands share."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.errors import ArgumentError
from dressform.garment.garment import FULL_STRENGTH
from dressform.garment.strength import DEFAULT_FALLOFF, NO_STRENGTH
from dressform.lift.lift import DEFAULT_EASE, METHODS
from dressform.units import MM_PER_M

METHOD_WORDS = ", ".join(METHODS)
BodyOption = Annotated[Path, Parameter(name="--body", help="Body file: .glb, .gltf, .obj, .ply or .dae.")]


@Parameter(name="*")
@dataclass(frozen=True)
class Reading:
    """How the files are read."""

    base: Annotated[str | None, Parameter(help="Base body, by name, where the body file holds several.")] = None
    morphs: Annotated[
        Path | None, Parameter(help="Folder of meshes, one per morph, named after it; `morphs` beside an OBJ.")
    ] = None
    range_: Annotated[
        Path | None,
        Parameter(name="--range", help="TOML with the weights a wearer may reach; BODY.range.toml beside the body."),
    ] = None
    units: Annotated[str | None, Parameter(help="Unit of all files: m, cm, mm or in; else recognised.")] = None
    up: Annotated[str | None, Parameter(help="Axis that points up in all files: x, y or z; else recognised.")] = None


@Parameter(name="*")
@dataclass(frozen=True)
class Following:
    """How the cloth follows the body."""

    ease_asked: Annotated[
        str | None,
        Parameter(
            name="--ease",
            help=f"keep the distance to the skin, or scale it with the skin's stretch. [default: {DEFAULT_EASE}]",
        ),
    ] = None
    rotation_share: Annotated[
        float | None,
        Parameter(
            help="Share of the skin's turn that the distance takes part in, 0 to 1. By default 0.5 for smooth, "
            "0 for the plain ways."
        ),
    ] = None
    strength: Annotated[
        list[str] | None,
        Parameter(
            help="How strongly the cloth follows, 0 to 1: one number for all, or PART=NUMBER; repeat it for more.",
            negative="",
        ),
    ] = None
    off: Annotated[
        list[str] | None,
        Parameter(help="Part that does not follow, as PART=0 does; repeat it for more.", negative=""),
    ] = None
    falloff: Annotated[
        float | None,
        Parameter(
            help="Width of the soft rim between strengths, mm along the cloth. "
            f"[default: {DEFAULT_FALLOFF * MM_PER_M:g}, where a strength is given]"
        ),
    ] = None
    mask: Annotated[
        str | None,
        Parameter(
            help="Per-vertex attribute, or colour channel such as COLOR_0.r, that says how strongly each vertex "
            "follows, 0 to 1. By default _STRENGTH, where a file has it."
        ),
    ] = None

    @property
    def ease(self) -> str:
        """The ease policy, asked for or not."""
        return self.ease_asked or DEFAULT_EASE


def strengths(follow: Following) -> tuple[float, dict[str, float]]:
    """Strength of all cloth, and of named parts.

    Raises:
        ArgumentError: a piece is neither NUMBER nor PART=NUMBER.
    """
    overall, parts = FULL_STRENGTH, dict.fromkeys(follow.off or (), NO_STRENGTH)
    for piece in follow.strength or ():
        name, _, number = piece.rpartition("=")
        value = _number(number)
        if value is None:
            advice = "Write for instance 0.5, or collar=0.5"
            raise ArgumentError.of("check", "strength", "NUMBER or PART=NUMBER", repr(piece), advice)
        if name:
            parts[name] = value
        else:
            overall = value
    return overall, parts


def parse_weights(
    function: str, text: str, *, argument: str = "weights", example: str = "belly=0.5,hips=1"
) -> dict[str, float]:
    """`belly=0.5,hips=1` to numbers by name.

    Raises:
        ArgumentError: a piece is not NAME=NUMBER, a number is not finite, or a name comes twice.
    """
    values: dict[str, float] = {}
    for piece in (part.strip() for part in text.split(",")):
        name, equals, number = piece.rpartition("=")
        value = _number(number)
        if not (equals and name.strip()) or value is None:
            advice = f"Write for instance {example}"
            raise ArgumentError.of(function, argument, "NAME=NUMBER, separated by commas", repr(piece), advice)
        if not math.isfinite(value):
            raise ArgumentError.of(function, argument, "finite", repr(piece), "Give a number")
        if name.strip() in values:
            raise ArgumentError.of(function, argument, "named once each", f"{name.strip()!r} twice", "Leave one out")
        values[name.strip()] = value
    return values


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
