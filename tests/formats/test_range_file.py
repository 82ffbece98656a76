"""The range TOML: negative and large weights allowed, every mistake named with its key."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.body.range import Range
from dressform.errors import FileError
from dressform.formats.range_file import range_of, read_range, write_range

NAMES = ("belly", "hips", 'odd "name"')


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "keeper.range.toml"
    path.write_text(text)
    return path


def test_declared_morphs_take_their_interval_and_others_keep_the_unit(tmp_path: Path) -> None:
    found = read_range(written(tmp_path, "[range]\nhips = [-0.5, 3]\n"), NAMES)
    np.testing.assert_array_equal(found.low, [0, -0.5, 0])
    np.testing.assert_array_equal(found.high, [1, 3, 1])


def test_written_range_comes_back(tmp_path: Path) -> None:
    declared = Range(NAMES, np.array([-1.0, 0.1, 0.0]), np.array([1 / 3, 0.1, 2.0]))
    path = tmp_path / "out.toml"
    path.write_bytes(write_range(declared))
    found = read_range(path, NAMES)
    np.testing.assert_array_equal(found.low, declared.low)
    np.testing.assert_array_equal(found.high, declared.high)


def test_without_a_file_every_morph_is_in_the_unit_interval(tmp_path: Path) -> None:
    found = range_of(tmp_path / "keeper.glb", None, NAMES)
    np.testing.assert_array_equal(found.widths, np.ones(3))


def test_named_file_must_exist(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such file"):
        range_of(tmp_path / "keeper.glb", tmp_path / "other.toml", NAMES)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[range\n", r"keeper\.range\.toml: is not TOML"),
        ("[ranges]\nbelly = [0, 1]\n", "ranges: is no key here. Use range"),
        ("[range]\n[other]\n", "other: is no key here. Use range"),
        ("[range]\nbelly = 1\n", "range: Expected array, got int. Write"),
        ("[range]\nbelly = [0, 1, 2]\n", "Expected array of length 2"),
        ("[range]\nbely = [0, 1]\n", r"range\.bely: is no morph of this body\. Its morphs are: belly, hips"),
        ("[range]\nbelly = [1, 0]\n", r"range\.belly: is \[1, 0\], not a finite interval"),
        ("[range]\nbelly = [0, inf]\n", r"range\.belly: is \[0, inf\], not a finite interval"),
        (
            "[range]\nbelly = [-1e300, 1e300]\n",
            r"\.toml: range\.belly: is \[-1e\+300, 1e\+300\], not a finite .* within ±1,000,000\.",
        ),
    ],
)
def test_mistake_is_named_with_file_and_key(text: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(FileError, match=message):
        read_range(written(tmp_path, text), NAMES)


@given(st.lists(st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=12), max_size=4, unique=True))
def test_a_range_of_morphs_of_any_name_comes_back(tmp_path_factory: pytest.TempPathFactory, names: list[str]) -> None:
    path = tmp_path_factory.mktemp("range") / "any.range.toml"
    declared = Range(tuple(names), np.full(len(names), -0.5), np.full(len(names), 1.5))
    path.write_bytes(write_range(declared))
    found = read_range(path, tuple(names))
    np.testing.assert_array_equal(found.low, declared.low)
    np.testing.assert_array_equal(found.high, declared.high)
