"""A file is whole or not there."""

import os
import stat
from pathlib import Path

import pytest

from dressform.errors import FileError
from dressform.formats import atomic
from dressform.formats.atomic import write_bytes


def test_written_file_holds_the_bytes_and_nothing_else_is_left(tmp_path: Path) -> None:
    write_bytes(tmp_path / "out.glb", b"first")
    write_bytes(tmp_path / "out.glb", b"second")
    assert (tmp_path / "out.glb").read_bytes() == b"second"
    assert os.listdir(tmp_path) == ["out.glb"]
    assert stat.S_IMODE((tmp_path / "out.glb").stat().st_mode) & 0o600 == 0o600


def test_failure_leaves_the_old_file_and_no_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(source: str, target: Path) -> None:
        raise OSError(28, "No space left on device")

    write_bytes(tmp_path / "out.glb", b"old")
    monkeypatch.setattr(atomic.os, "replace", fail)
    with pytest.raises(FileError, match=r"cannot be written .No space left on device"):
        write_bytes(tmp_path / "out.glb", b"new")
    assert (tmp_path / "out.glb").read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["out.glb"]


def test_interruption_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(handle: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(atomic.os, "fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_bytes(tmp_path / "out.glb", b"new")
    assert os.listdir(tmp_path) == []


def test_missing_folder_is_made_and_one_that_cannot_be_is_named(tmp_path: Path) -> None:
    write_bytes(tmp_path / "new" / "folder" / "out.glb", b"x")
    assert (tmp_path / "new" / "folder" / "out.glb").read_bytes() == b"x"
    with pytest.raises(FileError, match=r"out\.glb: cannot be written .* Name a file in a folder that can be written"):
        write_bytes(Path("/proc/nowhere/out.glb"), b"x")
