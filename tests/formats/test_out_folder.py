import os
from pathlib import Path
from typing import Any

import pytest

from dressform.errors import FileError
from dressform.formats.out_folder import refuse_unwritable, whole_folder
from dressform.leftovers import HIDDEN


def fill(target: Path, raised: type[BaseException]) -> None:
    with whole_folder(target) as folder:
        (folder / "a.txt").write_text("new")
        raise raised


def test_files_arrive_together_with_their_folders(tmp_path: Path) -> None:
    with whole_folder(tmp_path / "out") as folder:
        (folder / "a.txt").write_text("a")
        (folder / "sub").mkdir()
        (folder / "sub" / "b.txt").write_text("b")
        assert not (tmp_path / "out" / "a.txt").exists()
    assert sorted(str(p.relative_to(tmp_path)) for p in tmp_path.rglob("*")) == [
        "out", "out/a.txt", "out/sub", "out/sub/b.txt",
    ]  # fmt: skip


@pytest.mark.parametrize("raised", [KeyboardInterrupt, ValueError])
def test_an_interrupted_block_leaves_nothing(tmp_path: Path, raised: type[BaseException]) -> None:
    with pytest.raises(raised):
        fill(tmp_path / "out", raised)
    assert list(tmp_path.iterdir()) == []


def test_an_interrupted_block_leaves_what_was_there_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("old")
    with pytest.raises(KeyboardInterrupt):
        fill(tmp_path, KeyboardInterrupt)
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == {"a.txt": "old"}


def test_an_interrupt_as_soon_as_the_hidden_folder_is_made_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = os.mkdir

    def make_and_interrupt(path: str, *rest: Any, **named: Any) -> None:
        made(path, *rest, **named)
        if Path(path).name.startswith(HIDDEN):
            raise KeyboardInterrupt

    monkeypatch.setattr(os, "mkdir", make_and_interrupt)
    with pytest.raises(KeyboardInterrupt), whole_folder(tmp_path / "out"):
        pass
    assert not list(tmp_path.iterdir())


def test_files_of_the_same_name_are_replaced_and_others_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("old")
    (tmp_path / "mine.txt").write_text("mine")
    with whole_folder(tmp_path) as folder:
        (folder / "a.txt").write_text("new")
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == {"a.txt": "new", "mine.txt": "mine"}


def test_a_file_in_the_way_is_told_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file")
    with pytest.raises(FileError, match="out: cannot be written") as told:
        fill(tmp_path / "out", ValueError)
    assert "\n" not in str(told.value)


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="a folder that takes no files, whoever asks")
def test_folder_that_takes_no_files_is_refused_before_the_work_even_for_root() -> None:
    for name, is_folder in (("fitted.glb", False), ("results", True)):
        with pytest.raises(FileError, match="/proc is closed to writing"):
            refuse_unwritable(Path("/proc") / name, is_folder=is_folder)


def test_what_could_be_written_later_is_allowed(tmp_path: Path) -> None:
    (tmp_path / "old.json").write_text("{}")
    refuse_unwritable(tmp_path / "old.json", is_folder=False)
    refuse_unwritable(tmp_path / "new.json", is_folder=False)
    refuse_unwritable(tmp_path / "new" / "folder" / "new.json", is_folder=False)
    refuse_unwritable(tmp_path, is_folder=True)
    refuse_unwritable(tmp_path / "new" / "folder", is_folder=True)


@pytest.mark.parametrize(
    ("name", "is_folder", "said"),
    [
        ("file/where.json", False, r"where.json: cannot be written \(.*file is no folder\)"),
        ("file/out", True, r"out: cannot be written \(.*file is no folder\)"),
        ("file", True, r"file: cannot be written \(is a file\)"),
        ("folder", False, r"folder: cannot be written \(is a folder\)"),
    ],
)
def test_what_could_not_be_written_is_refused_before_the_work(
    name: str, is_folder: bool, said: str, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    (tmp_path / "folder").mkdir()
    with pytest.raises(FileError, match=said):
        refuse_unwritable(tmp_path / name, is_folder=is_folder)
