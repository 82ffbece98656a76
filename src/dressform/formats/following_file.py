"""The TOML that says how each garment follows: read by `check` and `fit`, written by the page.

    format = "dressform-following/1"

    [garment.oilskin]
    strength = 0.9
    falloff_mm = 30
    hard = ["toggles"]

    [garment.oilskin.parts]
    collar = 0.5

A key that is left out has its default, or the value from the command line. A painted strength lies beside the TOML as a
`.npy` file with one number per welded vertex.
"""

import io
import re
import textwrap
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import msgspec
import numpy as np
import tomli_w
from jaxtyping import Float

from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.guards.limits import read_bytes
from dressform.formats.guards.npy import parse_npy
from dressform.formats.guards.toml import converted, read_toml
from dressform.garment.following import (
    DEFAULT_FOLLOWING,
    EASES,
    JOINT_WEIGHTS,
    MAX_FALLOFF_MM,
    MAX_MARGIN_MM,
    METHODS,
    Following,
)
from dressform.garment.methods import FILE

FOLLOWING_FORMAT = "dressform-following/1"
AGAIN = "Save the paint again"
COMMENT_WIDTH = 100
Comments = Mapping[str, Mapping[str, str]]
_KEY = re.compile(r"^(\w[\w-]*|\"(?:[^\"\\]|\\.)*\") = ")

Share = Annotated[float, msgspec.Meta(ge=0.0, le=1.0)]
Millimetres = Annotated[float, msgspec.Meta(ge=0.0, le=MAX_FALLOFF_MM)]
Margin = Annotated[float, msgspec.Meta(gt=0.0, le=MAX_MARGIN_MM)]

MASK_FIELDS = ("mask", "painted")
"""Fields of an entry that a `Following` holds in another way; all others have its names."""


class FollowingEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """A `Following` as files hold it; what is as it always is is left out.

    Attributes:
        method: Method by which the body's morphs come to the cloth.
        ease: Ease policy.
        rotation_share: How far the offset from the skin turns with it: 0 not at all, 1 fully.
        strength: Of all of it, 0 to 1.
        parts: Strength of named parts, 0 to 1.
        mask: Name of the attribute or colour channel that holds a painted strength.
        painted: Where a painted strength given by numbers is kept, or empty.
        falloff_mm: Width of the soft rim between strengths, mm.
        hard: Parts that move rigidly.
        margin_mm: Least distance from the skin that repairs keep, mm.
        joint_weights: Where the joint weights come from.
        part_joints: Joint by part, for rigid parts; "" for the one that carries most.
    """

    method: str = DEFAULT_FOLLOWING.method
    ease: str = DEFAULT_FOLLOWING.ease
    rotation_share: Share | None = None
    strength: Share = DEFAULT_FOLLOWING.strength
    parts: dict[str, Share] = {}
    mask: str | None = None
    painted: str = ""
    falloff_mm: Millimetres = DEFAULT_FOLLOWING.falloff_mm
    hard: tuple[str, ...] = ()
    margin_mm: Margin = DEFAULT_FOLLOWING.margin_mm
    joint_weights: str = DEFAULT_FOLLOWING.joint_weights
    part_joints: dict[str, str] = {}

    @classmethod
    def of(cls, following: Following, painted: str | None) -> "FollowingEntry":
        """For a file; `painted` says where a mask given by numbers is kept."""
        said = {name: getattr(following, name) for name in cls.__struct_fields__ if name not in MASK_FIELDS}
        said = {name: value for name, value in said.items() if value != getattr(DEFAULT_FOLLOWING, name)}
        said |= {name: dict(said[name]) for name in ("parts", "part_joints") if name in said}
        mask = following.mask if isinstance(following.mask, str) else None
        return cls(**said, mask=mask, painted=painted or "")

    def following(self, painted: Float[np.ndarray, " G"] | None) -> Following:
        """What the program works with; a mask given by numbers wins over one that is named.

        Raises:
            ArgumentError: the file was not asked about its choices, see `refuse_unknown`, and one is unknown.
        """
        said = {name: getattr(self, name) for name in self.__struct_fields__ if name not in MASK_FIELDS}
        return Following(**said, mask=self.mask if painted is None else painted)

    def refuse_unknown(self, path: object, key: str) -> None:
        """Refuse a choice that there is not.

        Raises:
            FileError: `method`, `ease` or `joint_weights` has another name; the valid ones are listed.
        """
        methods = (*METHODS, FILE)  # never code: a file that is passed on must start nobody's program
        choices = (("method", methods), ("ease", EASES), ("joint_weights", JOINT_WEIGHTS))
        for name, valid in choices:
            value = getattr(self, name)
            if value not in valid:
                raise FileError.of(path, f"{key}.{name}", f"is {value!r}", f"Use one of {', '.join(valid)}")


class _FollowingFile(msgspec.Struct, forbid_unknown_fields=True):
    format: str
    garment: dict[str, dict[str, Any]] = {}


def read_following(path: Path) -> dict[str, Following]:
    """How garments follow, by name, in the order of the file.

    Raises:
        FileError: not TOML, another format, an unknown key, a value of another type or outside its interval, an
            unknown choice, or a painted strength that is missing or no list of numbers from 0 to 1; the file,
            the key and the next step are named.

    Proof: tests/formats/test_following_file.py
    """
    tree = read_toml(path)
    if tree.get("format") != FOLLOWING_FORMAT:
        found = f"is {tree['format']!r}" if "format" in tree else "is missing"
        raise FileError.of(path, "format", found, f'Write format = "{FOLLOWING_FORMAT}" in its first line')
    whole = converted(path, "", tree, _FollowingFile)
    return {name: _following(path, f"garment.{name}", entry) for name, entry in whole.garment.items()}


def write_following(
    path: Path, garments: Mapping[str, Following], *, comments: Comments | None = None
) -> tuple[Path, ...]:
    """Write the settings of garments by name; painted strengths first, the TOML last, each whole or not at all.

    Args:
        path: The TOML.
        garments: How they follow, by name.
        comments: By garment and setting (`parts.collar` for a part, empty for the whole garment), what stands above it.

    Returns:
        The files written, the TOML first.

    Raises:
        FileError: a file cannot be written.
    """
    painted: dict[str, str] = {}
    written = [path]
    for index, (name, following) in enumerate(garments.items(), start=1):
        if isinstance(following.mask, np.ndarray):
            painted[name] = f"{path.stem}.{index}-{re.sub(r'[^A-Za-z0-9_]+', '-', name)}.npy"
            stream = io.BytesIO()
            np.save(stream, following.mask.astype(np.float32), allow_pickle=False)
            write_bytes(path.with_name(painted[name]), stream.getvalue(), update=True)
            written.append(path.with_name(painted[name]))
    write_bytes(path, following_toml(garments, painted, comments=comments).encode(), update=True)
    return tuple(written)


def following_toml(
    garments: Mapping[str, Following], painted: Mapping[str, str], *, comments: Comments | None = None
) -> str:
    """The settings as TOML text; `painted` names the file of each painted strength; comments: see `write_following`."""
    entries = {
        name: msgspec.to_builtins(FollowingEntry.of(following, painted.get(name)))
        for name, following in garments.items()
    }
    if comments is None:
        return tomli_w.dumps({"format": FOLLOWING_FORMAT, "garment": entries})
    texts = [_commented(name, entry, comments.get(name, {})) for name, entry in entries.items()]
    return "\n".join([tomli_w.dumps({"format": FOLLOWING_FORMAT}), *texts])


def _commented(name: str, entry: dict[str, Any], comments: Mapping[str, str]) -> str:
    """One garment as TOML, a comment above each setting that has one, and that of the garment under its head."""
    lines: list[str] = []
    table = ""
    if "painted" in entry:
        comments = {"painted" if key == "mask" else key: words for key, words in comments.items()}
    # What is as always has no line of its own.
    loose = [f"{key}: {words}" for key, words in comments.items() if key and not _has(entry, key)]
    head = " ".join([comments.get("", ""), *loose])
    for line in tomli_w.dumps({"garment": {name: entry}}).splitlines():
        key = ""
        if line.startswith("["):
            table = next((f"{one}." for one in ("parts", "part_joints") if lines and line.endswith(f".{one}]")), "")
        elif _KEY.match(line):
            key = table + next(iter(tomllib.loads(f"{_KEY.match(line)[1]} = 0")))  # type: ignore[index]  # it matches
        lines += [*_comment(comments.get(key, "")), line] if key else [line]
        if line.startswith("[") and not table:
            lines += _comment(head)
    return "\n".join(lines) + "\n"


def _has(entry: Mapping[str, Any], key: str) -> bool:
    """Whether an entry has a line for a setting."""
    table, dot, part = key.partition(".")
    return part in entry.get(table, {}) if dot else key in entry


def _comment(words: str) -> list[str]:
    """Words as lines of a comment, which TOML allows no control character."""
    plain = "".join(one if one.isprintable() else " " for one in words)
    return [f"# {line}" for line in textwrap.wrap(plain, COMMENT_WIDTH, break_long_words=False, break_on_hyphens=False)]


def _following(path: Path, key: str, tree: dict[str, Any]) -> Following:
    entry = converted(path, key, tree, FollowingEntry)
    entry.refuse_unknown(path, key)
    painted = _painted(path, f"{key}.painted", entry.painted) if entry.painted else None
    return entry.following(painted)


def _painted(path: Path, key: str, name: str) -> Float[np.ndarray, " G"]:
    """A painted strength beside the TOML."""
    if Path(name).name != name or "\0" in name:
        raise FileError.of(path, key, f"is {name!r}, not the plain name of a file beside it", "Move the file there")
    values = parse_npy(read_bytes(path.with_name(name)), path, key, name, advice=AGAIN)
    if values.ndim != 1:
        raise FileError.of(path, key, f"{name} holds no list of numbers", AGAIN)
    strength = values.astype(np.float64)
    if not ((strength >= 0.0) & (strength <= 1.0)).all():
        raise FileError.of(path, key, f"{name} holds numbers outside [0, 1]", "Scale the paint into that interval")
    return strength
