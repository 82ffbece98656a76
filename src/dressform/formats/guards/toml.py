"""TOML that people write, read with care: every error names the file."""

import re
import tomllib
from pathlib import Path
from typing import Any, TypeVar, get_args, get_type_hints

import msgspec

from dressform.errors import FileError
from dressform.formats.guards.limits import MAX_SETTINGS_BYTES, read_bytes

Kind = TypeVar("Kind", bound=msgspec.Struct)


def read_toml(path: Path) -> dict[str, Any]:
    """The tree of a TOML file.

    Raises:
        FileError: it cannot be read, is larger than `MAX_SETTINGS_BYTES`, is no TOML, or is nested too deeply.

    Proof: tests/formats/test_toml.py
    """
    try:
        return tomllib.loads(read_bytes(path, most=MAX_SETTINGS_BYTES).decode("utf-8"))
    except RecursionError:
        raise FileError.of(path, "", "is nested too deeply", "Correct it") from None
    except ValueError as problem:  # no UTF-8, no TOML, or a whole number of thousands of digits
        raise FileError.of(path, "", f"is not TOML: {problem}", "Correct it") from None


def _known(kind: Any, where: str) -> tuple[str, ...]:
    """The keys that are valid at a place such as `.excused[...]` of a struct."""
    for name in re.findall(r"\.(\w+)", where):
        inner = [get_type_hints(kind)[name]]
        while not hasattr(inner[0], "__struct_fields__"):
            inner = [*get_args(inner[0]), *inner[1:]]
        kind = inner[0]
    fields: tuple[str, ...] = kind.__struct_fields__
    return fields


def converted(
    path: Path, key: str, tree: Any, kind: type[Kind], *, advice: str = "Correct this key, or leave it out"
) -> Kind:
    """A tree, or the part of one at `key`, as a struct.

    Raises:
        FileError: it does not fit: the key is named, and where it is unknown the valid ones are listed.
    """
    try:
        return msgspec.convert(tree, kind)
    except msgspec.ValidationError as problem:
        words, _, where = str(problem).partition(" - at `$")
        place = f"{key}{where.rstrip('`').replace('[...]', '')}".lstrip(".")
        unknown = re.fullmatch(r"Object contains unknown field `(.*)`", words)
        if unknown:
            known = ", ".join(_known(kind, where))
            raise FileError.of(path, f"{place}.{unknown[1]}".lstrip("."), "is no key here", f"Use {known}") from None
        words = words.replace("Object missing required field", "lacks the key").replace("`", "")
        raise FileError.of(path, place, words, advice) from None
