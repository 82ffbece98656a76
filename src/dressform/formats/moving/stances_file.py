"""The TOML beside a body that says in which stances garments are looked at.

    format = "dressform-stances/1"
    use = ["everyday", "animations"]

    [joints]
    left_elbow = "forearm_l"

    [stances.haul]
    motions = { shoulder = { flexion = 70 }, elbow = { flexion = 60 }, trunk = { flexion = 20 } }

    [stances.shrug]
    turns = [{ joint = "clavicle_l", axis = "z", degrees = 15, mirror = true }]

`docs/stances.md` describes every key.
"""

from pathlib import Path
from typing import Any

import msgspec

from dressform.body.stances.built_in import BUILT_IN
from dressform.body.stances.stated import AXES_OF, BODY_AXES, StatedStance, StatedTurn
from dressform.body.stances.turns import AXES
from dressform.errors import FileError
from dressform.formats.guards.toml import converted, read_toml

SUFFIX = ".stances.toml"
STANCES_FORMAT = "dressform-stances/1"
ANIMATIONS, SLIDERS = "animations", "sliders"
USABLE = (ANIMATIONS, SLIDERS, *BUILT_IN)
"""What a file may ask for beside its own stances."""
LARGEST_ANGLE = 360.0
MOST_STANCES = 500


class StatedStances(msgspec.Struct, frozen=True):
    """What a file states.

    Attributes:
        joints: Name of the joint by part of the body, for parts that are not left to be recognised.
        use: What else is looked at: of `USABLE`.
        stances: By name, in the order of the file.
    """

    joints: dict[str, str]
    use: tuple[str, ...]
    stances: dict[str, StatedStance]


class _StancesFile(msgspec.Struct, forbid_unknown_fields=True):
    format: str
    use: list[str] = []
    joints: dict[str, str] = {}
    stances: dict[str, dict[str, Any]] = {}


class _Stance(msgspec.Struct, forbid_unknown_fields=True):
    motions: dict[str, dict[str, float]] = {}
    turns: list[dict[str, Any]] = []
    sliders: dict[str, float] = {}


class _Turn(msgspec.Struct, forbid_unknown_fields=True):
    joint: str
    axis: str | tuple[float, float, float]
    degrees: float
    axes: str = BODY_AXES
    mirror: bool = False


def stances_beside(body_path: Path) -> Path:
    """Where the stances of a body are looked for: `body.glb` has `body.stances.toml`."""
    return body_path.with_name(body_path.stem + SUFFIX)


def read_stances(path: Path) -> StatedStances:
    """The stances that a file states; whether the body has their joints is seen when they are made.

    Raises:
        FileError: not TOML, another format, an unknown key, set, axis or kind of axes, a stance that moves nothing, an
            angle that is not finite or beyond ±360°; file and key are named.

    Proof: tests/formats/moving/test_stances_file.py
    """
    tree = read_toml(path)
    if tree.get("format") != STANCES_FORMAT:
        found = f"is {tree['format']!r}" if "format" in tree else "is missing"
        raise FileError.of(path, "format", found, f'Write format = "{STANCES_FORMAT}" in its first line')
    whole = converted(path, "", tree, _StancesFile)
    for name in whole.use:
        if name not in USABLE:
            raise FileError.of(path, "use", f"names {name!r}", f"Use some of {', '.join(USABLE)}")
    if len(whole.stances) > MOST_STANCES:
        raise FileError.of(path, "stances", f"are {len(whole.stances)}", f"Keep {MOST_STANCES} at most")
    if not whole.stances and not whole.use:
        raise FileError.of(path, "stances", "are none", 'Write [stances.NAME], or use = ["everyday"]')
    stances = {name: _stance(path, f"stances.{name}", entry) for name, entry in whole.stances.items()}
    return StatedStances(whole.joints, tuple(dict.fromkeys(whole.use)), stances)


def _stance(path: Path, key: str, entry: dict[str, Any]) -> StatedStance:
    made = converted(path, key, entry, _Stance)
    for part, steps in made.motions.items():
        for motion, degrees in steps.items():
            _refuse_angle(path, f"{key}.motions.{part}.{motion}", degrees)
    turns = tuple(_turn(path, f"{key}.turns[{number}]", one) for number, one in enumerate(made.turns))
    if not (made.motions or turns or made.sliders):
        raise FileError.of(path, key, "moves nothing", "Give it motions, turns or sliders")
    return StatedStance(made.motions, turns, made.sliders)


def _turn(path: Path, key: str, entry: dict[str, Any]) -> StatedTurn:
    made = converted(path, key, entry, _Turn)
    _refuse_angle(path, f"{key}.degrees", made.degrees)
    if isinstance(made.axis, str) and made.axis not in AXES:
        raise FileError.of(path, f"{key}.axis", f"is {made.axis!r}", f"Use one of {', '.join(AXES)}, or [x, y, z]")
    if not isinstance(made.axis, str) and not 0 < sum(abs(number) for number in made.axis) < float("inf"):
        raise FileError.of(path, f"{key}.axis", f"is {list(made.axis)}", "Give three finite numbers, not all 0")
    if made.axes not in AXES_OF:
        raise FileError.of(path, f"{key}.axes", f"is {made.axes!r}", f"Use one of {', '.join(AXES_OF)}")
    return StatedTurn(made.joint, made.axis, made.degrees, made.axes, made.mirror)


def _refuse_angle(path: Path, key: str, degrees: float) -> None:
    if not -LARGEST_ANGLE <= degrees <= LARGEST_ANGLE:
        raise FileError.of(path, key, f"is {degrees:g}", f"Give degrees within ±{LARGEST_ANGLE:g}")
