"""The cache of demo work: found again, made again when broken, and never in the way."""

from pathlib import Path

import numpy as np
import pytest

from dressform.demo.cache import ENVIRONMENT, cache_folder, cached, source_key


class Maker:
    """Counts how often the work is done."""

    def __init__(self) -> None:
        self.calls = 0

    def __call__(self) -> dict[str, np.ndarray]:
        self.calls += 1
        return {"numbers": np.arange(5.0), "names": np.array(["a", "b"])}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "cache"))
    return tmp_path / "cache"


def test_work_is_done_once_and_read_back_equal(folder: Path) -> None:
    make = Maker()
    first, second = cached("thing", "key", make), cached("thing", "key", make)
    assert make.calls == 1
    assert [path.name for path in folder.iterdir()] == ["thing-key.npz"]
    for name in first:
        np.testing.assert_array_equal(first[name], second[name])


@pytest.mark.parametrize("damage", [b"", b"not an archive", None], ids=["empty", "foreign", "cut short"])
def test_a_broken_file_is_made_again(folder: Path, damage: bytes | None) -> None:
    make = Maker()
    cached("thing", "key", make)
    path = folder / "thing-key.npz"
    path.write_bytes(path.read_bytes()[:100] if damage is None else damage)
    np.testing.assert_array_equal(cached("thing", "key", make)["numbers"], np.arange(5.0))
    assert make.calls == 2
    cached("thing", "key", make)
    assert make.calls == 2


def test_a_folder_that_cannot_be_written_only_costs_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "file" / "cache"))
    np.testing.assert_array_equal(cached("thing", "key", Maker())["numbers"], np.arange(5.0))


def test_key_depends_on_sources_and_arguments(folder: Path) -> None:
    assert source_key(("body*.py",), 1.0) == source_key(("body*.py",), 1.0)
    assert source_key(("body*.py",), 1.0) != source_key(("body*.py",), 0.5)
    assert source_key(("body*.py",), 1.0) != source_key(("skeleton.py",), 1.0)


def test_environment_names_the_folder(folder: Path) -> None:
    assert cache_folder() == folder
