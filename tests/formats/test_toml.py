"""TOML of every kind that is read: refused with one line where it is damaged."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.errors import FileError
from dressform.formats.bands_file import read_bands
from dressform.formats.following_file import read_following
from dressform.formats.guards.toml import read_toml
from dressform.formats.moving.stances_file import read_stances
from dressform.formats.outfit_file import read_outfits
from dressform.formats.range_file import read_range

READERS: dict[str, Callable[[Path], Any]] = {
    "range": lambda path: read_range(path, ("belly",)),
    "following": read_following,
    "outfit": read_outfits,
    "bands": read_bands,
    "stances": read_stances,
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"deep = " + b"[" * 3000 + b"]" * 3000, "is nested too deeply"),
        (b"deep = " + b"{a = " * 3000 + b"1" + b"}" * 3000, "is nested too deeply"),
        (b"long = " + b"9" * 5000, "is not TOML: Exceeds the limit"),
        (b"\xff\xfe", "is not TOML: 'utf-8' codec"),
        (b"half = ", "is not TOML: Invalid value"),
    ],
)
def test_damaged_toml_is_refused_with_one_line(reader: str, text: bytes, said: str, tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes(text)
    with pytest.raises(FileError, match=rf"settings\.toml: {said}") as refused:
        READERS[reader](path)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("reader", READERS)
def test_dotted_key_of_thousands_of_steps_is_refused(reader: str, tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(".".join(["a"] * 5000) + " = 1\n")
    with pytest.raises(FileError, match=r"settings\.toml: "):
        READERS[reader](path)


def test_sound_toml_is_the_tree_that_it_says(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('[a.b]\nc = [1, 2.5, "ü"]\n', encoding="utf-8")
    assert read_toml(path) == {"a": {"b": {"c": [1, 2.5, "ü"]}}}
