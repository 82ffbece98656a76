"""The TOML that says how each garment follows: read by `check` and `fit`, written by the page.

    format = "dressform-following/1"

    [garment.oilskin]
    strength = 0.9
    falloff_mm = 30
    hard = ["toggles"]

    [garment.oilskin.parts]
    collar = 0.5

What is left out stays as the command line or the garment's own file says. A painted strength lies beside the TOML as a
`.npy` file with one number per welded vertex.
"""

import io
import json
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any

import msgspec
import numpy as np
from jaxtyping import Float

from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.limits import MAX_TEXT_BYTES, read_bytes
from dressform.lift.lift import EASES, METHODS

FOLLOWING_FORMAT = "dressform-following/1"
MM_PER_M = 1e3

Share = Annotated[float, msgspec.Meta(ge=0.0, le=1.0)]
Millimetres = Annotated[float, msgspec.Meta(ge=0.0, le=1000.0)]
Margin = Annotated[float, msgspec.Meta(gt=0.0, le=100.0)]


@dataclass(frozen=True, eq=False)
class FollowingSettings:
    """How one garment follows; None, or empty, where nothing is said.

    Attributes:
        follow: Off where False: then nothing of it follows.
        strength: Of all of it, 0 to 1.
        parts: Strength of named parts, 0 to 1.
        falloff: Width of the soft rim between strengths, metres.
        mask: Attribute or colour channel of the garment's file that holds a painted strength.
        painted: Painted strength per welded vertex, 0 to 1, (G,).
        hard: Parts that move rigidly.
        margin: Clearance that repairs keep, metres.
        lift: Method.
        ease: Ease policy.
        turn: Share of the skin's turn that the distance takes part in, 0 to 1.
    """

    follow: bool = True
    strength: float | None = None
    parts: Mapping[str, float] = field(default_factory=dict)
    falloff: float | None = None
    mask: str | None = None
    painted: Float[np.ndarray, " G"] | None = None
    hard: tuple[str, ...] = ()
    margin: float | None = None
    lift: str | None = None
    ease: str | None = None
    rotation_share: float | None = None

    def __eq__(self, other: object) -> bool:
        """The same settings, the painted strength number by number."""
        if not isinstance(other, FollowingSettings):
            return NotImplemented
        same = (self.painted is None) == (other.painted is None)
        if self.painted is not None and other.painted is not None:
            same = np.array_equal(self.painted, other.painted)
        return same and FollowingEntry.of(self, None) == FollowingEntry.of(other, None)


class FollowingEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """`FollowingSettings` as files hold them: lengths in mm, the painted strength by name.

    Attributes:
        painted: Where the painted strength is, or empty.
    """

    follow: bool = True
    strength: Share | None = None
    parts: dict[str, Share] = {}
    falloff_mm: Millimetres | None = None
    mask: str | None = None
    painted: str = ""
    hard: tuple[str, ...] = ()
    margin_mm: Margin | None = None
    lift: str | None = None
    ease: str | None = None
    rotation_share: Share | None = None

    @classmethod
    def of(cls, settings: FollowingSettings, painted: str | None) -> "FollowingEntry":
        """Settings for a file; `painted` says where the painted strength is kept."""
        return cls(
            follow=settings.follow,
            strength=settings.strength,
            parts=dict(settings.parts),
            falloff_mm=None if settings.falloff is None else settings.falloff * MM_PER_M,
            mask=settings.mask,
            painted=painted or "",
            hard=settings.hard,
            margin_mm=None if settings.margin is None else settings.margin * MM_PER_M,
            lift=settings.lift,
            ease=settings.ease,
            rotation_share=settings.rotation_share,
        )

    def settings(self, painted: Float[np.ndarray, " G"] | None) -> FollowingSettings:
        """What the program works with."""
        return FollowingSettings(
            follow=self.follow,
            strength=self.strength,
            parts=dict(self.parts),
            falloff=None if self.falloff_mm is None else self.falloff_mm / MM_PER_M,
            mask=self.mask,
            painted=painted,
            hard=self.hard,
            margin=None if self.margin_mm is None else self.margin_mm / MM_PER_M,
            lift=self.lift,
            ease=self.ease,
            rotation_share=self.rotation_share,
        )

    def refuse_unknown(self, path: object, key: str) -> None:
        """Refuse a way or a policy that there is not.

        Raises:
            FileError: `lift` or `ease` has another name; the valid ones are listed.
        """
        for name, value, valid in (("lift", self.lift, METHODS), ("ease", self.ease, EASES)):
            if value is not None and value not in valid:
                raise FileError.of(path, f"{key}.{name}", f"is {value!r}", f"Use one of {', '.join(valid)}")


class _FollowingFile(msgspec.Struct, forbid_unknown_fields=True):
    format: str
    garment: dict[str, dict[str, Any]] = {}


def read_following(path: Path) -> dict[str, FollowingSettings]:
    """Settings by garment name, in the order of the file.

    Raises:
        FileError: not TOML, another format, an unknown key, a value of another type or outside its interval, an
            unknown way or policy, or a painted strength that is missing or no list of numbers from 0 to 1; the file,
            the key and the next step are named.

    Proof: tests/formats/test_following_file.py
    """
    try:
        tree = tomllib.loads(read_bytes(path, most=MAX_TEXT_BYTES).decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        raise FileError.of(path, "", f"is not TOML: {problem}", "Correct it") from None
    if tree.get("format") != FOLLOWING_FORMAT:
        found = f"is {tree['format']!r}" if "format" in tree else "is missing"
        raise FileError.of(path, "format", found, f'Write format = "{FOLLOWING_FORMAT}" in its first line')
    whole: _FollowingFile = _converted(path, "", tree, _FollowingFile)
    return {name: _settings(path, f"garment.{name}", entry) for name, entry in whole.garment.items()}


def write_following(path: Path, garments: Mapping[str, FollowingSettings]) -> tuple[Path, ...]:
    """Write the settings of garments by name; painted strengths first, the TOML last, each whole or not at all.

    Returns:
        The files written, the TOML first.

    Raises:
        FileError: a file cannot be written.
    """
    painted: dict[str, str] = {}
    written = [path]
    for index, (name, settings) in enumerate(garments.items(), start=1):
        if settings.painted is not None:
            painted[name] = f"{path.stem}.{index}-{re.sub(r'[^A-Za-z0-9_]+', '-', name)}.npy"
            stream = io.BytesIO()
            np.save(stream, settings.painted.astype(np.float32), allow_pickle=False)
            write_bytes(path.with_name(painted[name]), stream.getvalue())
            written.append(path.with_name(painted[name]))
    write_bytes(path, following_toml(garments, painted).encode())
    return tuple(written)


def following_toml(garments: Mapping[str, FollowingSettings], painted: Mapping[str, str]) -> str:
    """The settings as TOML text; `painted` names the file of each painted strength."""
    lines = [f"format = {_quoted(FOLLOWING_FORMAT)}"]
    for name, settings in garments.items():
        entry: dict[str, Any] = msgspec.to_builtins(FollowingEntry.of(settings, painted.get(name)))
        parts = entry.pop("parts", {})
        lines += ["", f"[garment.{_quoted(name)}]"]
        lines += [f"{key} = {_value(value)}" for key, value in entry.items()]
        if parts:
            lines += ["", f"[garment.{_quoted(name)}.parts]"]
            lines += [f"{_quoted(part)} = {_value(strength)}" for part, strength in parts.items()]
    return "\n".join(lines) + "\n"


def _settings(path: Path, key: str, tree: dict[str, Any]) -> FollowingSettings:
    entry: FollowingEntry = _converted(path, key, tree, FollowingEntry)
    entry.refuse_unknown(path, key)
    painted = _painted(path, f"{key}.painted", entry.painted) if entry.painted else None
    return entry.settings(painted)


def _painted(path: Path, key: str, name: str) -> Float[np.ndarray, " G"]:
    """A painted strength beside the TOML."""
    if Path(name).name != name:
        raise FileError.of(path, key, f"is {name!r}, not the plain name of a file beside it", "Move the file there")
    data = read_bytes(path.with_name(name))
    try:
        values = np.load(io.BytesIO(data), allow_pickle=False)
    except (ValueError, EOFError, OSError) as problem:
        raise FileError.of(
            path, key, f"{name} is no .npy file of numbers ({problem})", "Save the paint again"
        ) from None
    if not (isinstance(values, np.ndarray) and values.ndim == 1 and values.dtype.kind in "fiu"):
        raise FileError.of(path, key, f"{name} holds no list of numbers", "Save the paint again")
    strength = values.astype(np.float64)
    if not ((strength >= 0.0) & (strength <= 1.0)).all():
        raise FileError.of(path, key, f"{name} holds numbers outside [0, 1]", "Scale the paint into that interval")
    return strength


def _converted(path: Path, key: str, tree: Any, kind: type[Any]) -> Any:
    """The tree as a struct; what does not fit is said with its key."""
    try:
        return msgspec.convert(tree, kind)
    except msgspec.ValidationError as problem:
        words, _, where = str(problem).partition(" - at `$")
        place = f"{key}{where.rstrip('`').replace('[...]', '')}".lstrip(".")
        raise FileError.of(path, place, words.replace("`", ""), "Correct this key, or leave it out") from None


def _value(value: object) -> str:
    """A value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(item) for item in value)}]"
    return _quoted(value) if isinstance(value, str) else repr(value)


def _quoted(text: str) -> str:
    """A basic string: JSON's escapes are TOML's, but for DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
