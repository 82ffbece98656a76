"""No command costs anybody a file: outputs are checked before the work, and what was read is never written over."""

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.guards.inputs import kept_inputs
from dressform.formats.guards.limits import read_bytes
from dressform.formats.out_folder import whole_folder
from solids import capped_body, open_tube

Run = Callable[..., Any]
GLTF = {
    "asset": {"version": "2.0"},
    "images": [{"uri": "cloth.png"}],
    "buffers": [{"uri": "tube.bin", "byteLength": 4}],
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A body and a garment as GLB, with other files that a command line may name by mistake."""
    save_body([capped_body("woman")], tmp_path / "body.glb")
    save_garment(open_tube(), tmp_path / "tube.glb")
    (tmp_path / "linked.glb").symlink_to("body.glb")
    os.link(tmp_path / "tube.glb", tmp_path / "again.glb")
    (tmp_path / "notes.json").write_text('{"mine": 1}')
    (tmp_path / "holiday.png").write_bytes(b"\xff\xd8\xff a JPEG under a wrong name")
    (tmp_path / "outfits.toml").write_text('[outfit.ashore]\nlayers = ["tube.glb"]\n', encoding="utf-8")
    (tmp_path / "tube.gltf").write_text(json.dumps(GLTF))
    (tmp_path / "tube.bin").write_bytes(b"1234")
    (tmp_path / "cloth.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    (tmp_path / "body.range.toml").write_text("[range]\n")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


LOST = [
    ("fit --body body.glb tube.glb -o body.glb", "body.glb: is an input"),
    ("fit --body body.glb tube.glb -o tube.glb", "tube.glb: is an input"),
    ("fit --body body.glb tube.glb -o ./../{here}/tube.glb", "tube.glb: is an input"),
    ("fit --body body.glb tube.glb -o linked.glb", "linked.glb: is an input (body.glb)"),
    ("fit --body linked.glb tube.glb -o body.glb", "body.glb: is an input (linked.glb)"),
    ("fit --body body.glb tube.glb -o again.glb", "again.glb: is an input (tube.glb)"),
    ("fit --body body.glb tube.glb -o again.glb --overwrite", "again.glb: is an input (tube.glb)"),
    ("fit --body body.glb tube.glb -o tube.glb/such/o.glb", "cannot be written"),
    ("fit --body body.glb tube.glb -o o.obj", "o.obj: does not end with .glb"),
    ("check --body body.glb tube.glb --json tube.glb", "tube.glb: does not end with .json"),
    ("check --body body.glb tube.glb --report body.glb", "body.glb: does not end with .html"),
    ("check --body body.glb tube.glb --store tube.glb", "tube.glb: is an input"),
    ("check --body body.glb tube.glb --store notes.json", "notes.json: exists and holds something else"),
    ("check --body body.glb tube.glb --json notes.json", "notes.json: exists and holds something else"),
    ("measure body.glb --json body.glb", "body.glb: does not end with .json"),
    ("measure body.glb --json notes.json", "notes.json: exists and holds something else"),
    ("audit body.glb --json notes.json", "notes.json: exists and holds something else"),
    ("prove tube.glb --body body.glb --json notes.json", "notes.json: exists and holds something else"),
    ("infer-shape tube.glb --body body.glb --json notes.json", "notes.json: exists and holds something else"),
    ("outfit outfits.toml ashore --body body.glb --out .", "tube.glb: is an input"),
    ("explain notes.json tube/1 --picture holiday.png", "holiday.png: exists and holds something else"),
    ("explain notes.json tube/1 --picture notes.json", "notes.json: does not end with .png"),
    ("case save tube.gltf --body body.glb -o cloth.png", "cloth.png: does not end with .case.json"),
    ("case save tube.glb --body body.glb -o notes.json", "notes.json: does not end with .case.json"),
    ("case replay notes.json --garment tube.gltf --picture cloth.png", "cloth.png: is an input"),
    ("show --body body.glb tube.glb --settings body.range.toml", "body.range.toml: is an input"),
    ("measure body.glb --log body.glb", "body.glb: is an input"),
    ("measure body.glb --log notes.json", "notes.json: exists and holds something else"),
]


@pytest.mark.parametrize(("line", "said"), LOST, ids=[line for line, _ in LOST])
def test_output_that_would_cost_a_file_is_refused_before_the_work(
    line: str, said: str, folder: Path, dressform: Run
) -> None:
    before = content(folder)
    ended = dressform(*line.format(here=folder.name).split())
    assert ended.code == 2
    assert said in ended.line
    assert ended.out == ""
    assert content(folder) == before


def test_overwrite_replaces_a_file_of_another_kind(folder: Path, dressform: Run) -> None:
    assert dressform("measure", "body.glb", "--json", "notes.json", "--overwrite").code == 0
    assert b"dressform-" in Path("notes.json").read_bytes()


def test_file_that_the_same_command_wrote_is_replaced_without_a_word(folder: Path, dressform: Run) -> None:
    for _ in range(2):
        assert dressform("measure", "body.glb", "--json", "measures.json").code == 0


def test_symbolic_link_is_written_through(folder: Path, dressform: Run) -> None:
    (folder / "elsewhere").mkdir()
    Path("link.json").symlink_to("elsewhere/measures.json")
    assert dressform("measure", "body.glb", "--json", "link.json").code == 0
    assert Path("link.json").is_symlink()
    assert b"dressform-" in (folder / "elsewhere" / "measures.json").read_bytes()


def test_link_that_leads_round_in_a_circle_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to("b")
    (tmp_path / "b").symlink_to("a")
    with pytest.raises(FileError, match="cannot be written"):
        write_bytes(tmp_path / "a", b"1")


def test_folder_of_results_keeps_links_and_writes_what_they_lead_to(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "a.txt").symlink_to(tmp_path / "kept.txt")
    with whole_folder(tmp_path / "out") as partial:
        (partial / "a.txt").write_text("new")
    assert (tmp_path / "out" / "a.txt").is_symlink()
    assert (tmp_path / "kept.txt").read_text() == "new"


def fill(folder: Path, *names: str) -> None:
    with whole_folder(folder) as partial:
        for name in names:
            (partial / name).write_bytes(b"new")


def test_what_was_read_is_never_written_over_until_the_run_ends(tmp_path: Path) -> None:
    (tmp_path / "a.glb").write_bytes(b"old")
    with kept_inputs():
        read_bytes(tmp_path / "a.glb")
        with pytest.raises(FileError, match=r"a\.glb: is an input"):
            write_bytes(tmp_path / "a.glb", b"new")
        with pytest.raises(FileError, match=r"a\.glb: is an input"):
            fill(tmp_path, "0.glb", "a.glb")
        write_bytes(tmp_path / "a.glb", b"settings", update=True)
    assert sorted(os.listdir(tmp_path)) == ["a.glb"]
    write_bytes(tmp_path / "a.glb", b"new")


def test_what_this_run_wrote_may_be_read_and_written_again(tmp_path: Path) -> None:
    with kept_inputs():
        write_bytes(tmp_path / "a.glb", b"first")
        read_bytes(tmp_path / "a.glb")
        write_bytes(tmp_path / "a.glb", b"second")
    assert (tmp_path / "a.glb").read_bytes() == b"second"


def test_morphs_beside_an_obj_and_the_range_are_inputs_too(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    shutil.copytree(phantom, tmp_path / "p")
    (tmp_path / "p" / "morphs" / "note.json").write_text("{}")
    ended = dressform("measure", tmp_path / "p" / "phantom.obj", "--json", tmp_path / "p" / "morphs" / "note.json")
    assert ended.code == 2
    assert "is an input" in ended.line
