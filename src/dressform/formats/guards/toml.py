"""TOML that people write, read with care: every error names the file."""

import tomllib
from pathlib import Path
from typing import Any

from dressform.errors import FileError
from dressform.formats.guards.limits import MAX_SETTINGS_BYTES, read_bytes


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
