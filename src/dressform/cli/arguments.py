"""Parses command-line words into values, and defines the options that several commands share."""

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.errors import ArgumentError
from dressform.garment.choices import (
    DEFAULT_EASE,
    DEFAULT_FALLOFF_MM,
    DEFAULT_METHOD,
    NO_STRENGTH,
    SMOOTH_ROTATION_SHARE,
)
from dressform.garment.methods import FILE, METHODS

if TYPE_CHECKING:
    import dressform.garment.following

METHOD_WORDS = f"{', '.join(METHODS)}; {FILE} for the targets that the garment's file holds; module:function for code"
FILED = f"{FILE} where a receipt of ours lies beside the garment, else {DEFAULT_METHOD}"
MethodOption = Annotated[
    str | None, Parameter(name="--method", help=f"Method: {METHOD_WORDS}. [default: {DEFAULT_METHOD}]")
]
MethodsOption = Annotated[
    list[str] | None,
    Parameter(
        name="--method",
        help=f"Method: {METHOD_WORDS}, or folder:PATH for a mesh per shape; repeat it, or say all for ours, to "
        f"compare. [default: {FILED}]",
        negative="",
    ),
]
StancesOption = Annotated[
    str | None,
    Parameter(
        name="--stances",
        help="Stances to look at beside the modelled pose: a stances TOML; or motion, everyday, strong, animations, "
        "sliders, several separated by commas; or none. [default: what the body's files bring, else motion where a "
        "human skeleton is recognised]",
    ),
]
BodyOption = Annotated[
    Path, Parameter(name="--body", help="Body file: .glb, .gltf, .vrm, .obj, .ply, .dae or USD; - for standard input.")
]


@Parameter(name="*")
@dataclass(frozen=True)
class BodyReading:
    """How the file of a body is read."""

    base: Annotated[
        str | None,
        Parameter(help="Base body, by the name of a scene, node or mesh, where the file holds several."),
    ] = None
    morphs: Annotated[
        Path | None, Parameter(help="Folder of meshes, one per morph, named after it; `morphs` beside an OBJ.")
    ] = None
    range_: Annotated[
        Path | None,
        Parameter(name="--range", help="TOML with the weights a wearer may reach; BODY.range.toml beside the body."),
    ] = None
    units: Annotated[str | None, Parameter(help="Unit of all files: m, cm, mm or in; detected if omitted.")] = None
    up: Annotated[
        str | None,
        Parameter(help="Axis that points up in all files: x, y, z, or --up=-z and so on; detected if omitted."),
    ] = None
    front: Annotated[
        str | None,
        Parameter(help="Where the front points once +Y is up: z, -z, x or -x; detected from the feet if omitted."),
    ] = None
    memory: Annotated[float | None, Parameter(help="Most memory that reading one file may take, GiB. [default: 2]")] = (
        None
    )


@Parameter(name="*")
@dataclass(frozen=True)
class ReadingOptions(BodyReading):
    """How the files of a body and of garments are read."""

    garment_units: Annotated[str | None, Parameter(help="Unit of the garments, where it is not --units.")] = None
    garment_up: Annotated[str | None, Parameter(help="Axis up in the garments, where it is not --up.")] = None


@Parameter(name="*")
@dataclass(frozen=True)
class FollowingOptions:
    """How the cloth follows the body, as far as options say."""

    ease: Annotated[
        str | None,
        Parameter(
            help=f"keep the distance to the skin, or scale it with the skin's stretch. [default: {DEFAULT_EASE}]"
        ),
    ] = None
    rotation_share: Annotated[
        float | None,
        Parameter(
            help="How far the offset from the skin turns with it: 0 not at all, 1 fully. "
            f"[default: {SMOOTH_ROTATION_SHARE:g} for smooth, 0 for the other methods]"
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
            f"[default: {DEFAULT_FALLOFF_MM:g}, where a strength is given]"
        ),
    ] = None
    mask: Annotated[
        str | None,
        Parameter(
            help="Per-vertex attribute, or colour channel such as COLOR_0.r, that says how strongly each vertex "
            "follows, 0 to 1. By default _STRENGTH, where a file has it."
        ),
    ] = None

    joint_weights: Annotated[
        str | None,
        Parameter(
            help="Joint weights: own (of the garment's file, where it has them for the body's joints, else lifted), "
            "lifted from the body, smoothed along the cloth, nearest-part, one-joint, or none. [default: own]"
        ),
    ] = None
    part_joint: Annotated[
        list[str] | None,
        Parameter(
            help="Rigid part that follows one joint: PART=JOINT, or PART= for the joint that carries most of it; "
            "repeat it for more.",
            negative="",
        ),
    ] = None

    time_limit: Annotated[
        float | None,
        Parameter(help="Seconds that one call of somebody's code may take, where it is the method. [default: 60]"),
    ] = None

    @property
    def parts(self) -> dict[str, float]:
        """Strength of the parts that are named."""
        named = {name: value for name, value in self._strengths() if name}
        return dict.fromkeys(self.off or (), NO_STRENGTH) | named

    def over(self, following: "dressform.garment.following.Following") -> "dressform.garment.following.Following":
        """What an option says, and what `following` says of the rest.

        Raises:
            ArgumentError: an option is not valid.
        """
        overall = [value for name, value in self._strengths() if not name]
        return replace(
            following,
            ease=self.ease or following.ease,
            rotation_share=following.rotation_share if self.rotation_share is None else self.rotation_share,
            strength=overall[-1] if overall else following.strength,
            parts={**following.parts, **self.parts},
            mask=self.mask or following.mask,
            falloff_mm=following.falloff_mm if self.falloff is None else self.falloff,
            joint_weights=self.joint_weights or following.joint_weights,
            part_joints={**following.part_joints, **self.part_joints},
        )

    @property
    def part_joints(self) -> dict[str, str]:
        """Joint of the parts that are named.

        Raises:
            ArgumentError: a piece is not PART=JOINT.
        """
        found = {}
        for piece in self.part_joint or ():
            part, equals, joint = piece.rpartition("=")
            if not (part and equals):
                advice = "Write for instance buckle=hand_r"
                raise ArgumentError.of("check", "part_joints", "PART=JOINT", repr(piece), advice)
            found[part] = joint
        return found

    def _strengths(self) -> list[tuple[str, float]]:
        """Every strength that is given, with the name of its part, empty for all cloth.

        Raises:
            ArgumentError: a piece is neither NUMBER nor PART=NUMBER.
        """
        found = []
        for piece in self.strength or ():
            name, _, number = piece.rpartition("=")
            value = _number(number)
            if value is None:
                advice = "Write for instance 0.5, or collar=0.5"
                raise ArgumentError.of("check", "strength", "NUMBER or PART=NUMBER", repr(piece), advice)
            found.append((name, value))
        return found


def stances_file(asked: str | None) -> Path | None:
    """The file that `--stances` names, or None where it says words."""
    return Path(asked) if asked is not None and asked.lower().endswith(".toml") else None


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
