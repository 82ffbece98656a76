"""One broken garment of many ends no run: it is named, the others go on, and the exit code is 2 at the end."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from dressform.formats.results.check_read import read_results
from dressform.formats.results.json_schema import results_schema
from phantoms import phantom_files

Run = Callable[..., Any]
QUICK = ("--shapes", "0", "--workers", "1", "--no-causes", "--units", "m")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The phantom, its tube, and two files that hold no garment."""
    made = tmp_path_factory.mktemp("broken")
    phantom_files(made)
    (made / "torn.glb").write_bytes(b"glTF\x02\x00\x00\x00 and no more")
    (made / "empty.obj").write_bytes(b"")
    return made


def test_check_names_broken_garments_in_table_and_json_and_ends_with_two_rather_than_one(
    folder: Path, tmp_path: Path, dressform: Run
) -> None:
    garments, results = [folder / name for name in ("torn.glb", "tube.obj", "empty.obj")], tmp_path / "r.json"
    ended = dressform(
        "check", "--body", folder / "phantom.obj", *garments, *QUICK, "--strength", "0", "--json", results
    )
    assert (ended.code, ended.err) == (2, "")
    rows = [line.split()[:3] for line in ended.out.splitlines()]
    assert ["torn", "not", "read"] in rows
    assert ["empty", "not", "read"] in rows
    document = json.loads(results.read_text(encoding="utf-8"))
    jsonschema.validate(document, results_schema())
    assert [(one["name"], one["severity"]) for one in document["garments"]] == [
        ("tube", "grave")
    ]  # which alone gives 1
    failed = {one["name"]: one for one in document["failed"]}
    assert set(failed) == {"torn", "empty"}
    assert failed["torn"]["file"] == str(folder / "torn.glb")
    assert failed["torn"]["stage"] == "read"
    words = " ".join(ended.out.split())
    for one in failed.values():
        assert f"{one['name']}: not read: {one['reason']}" in words
    assert read_results(results.read_bytes(), path="r.json").failed[0].name == "torn"


def test_one_broken_garment_alone_is_one_line(folder: Path, dressform: Run) -> None:
    ended = dressform("check", "--body", folder / "phantom.obj", folder / "torn.glb", *QUICK)
    assert ended.code == 2
    assert ended.line.startswith(f"dressform: {folder / 'torn.glb'}: ")
    assert ended.out == ""


def test_where_no_garment_is_sound_one_line_names_them_all(folder: Path, dressform: Run) -> None:
    ended = dressform("check", "--body", folder / "phantom.obj", folder / "torn.glb", folder / "empty.obj", *QUICK)
    assert ended.code == 2
    assert ended.line.startswith("dressform: No garment is sound. torn: not read: ")
    assert "empty: not read: " in ended.line


def test_infer_shape_goes_on_past_a_broken_garment(folder: Path, tmp_path: Path, dressform: Run) -> None:
    garments, told = [folder / "torn.glb", folder / "tube.obj"], tmp_path / "shapes.json"
    ended = dressform("infer-shape", "--body", folder / "phantom.obj", *garments, "--units", "m", "--json", told)
    assert ended.code == 2
    assert re.search(r"^torn: not read: ", ended.out, re.MULTILINE)
    document = json.loads(told.read_text(encoding="utf-8"))
    assert [one["garment"] for one in document["garments"]] == ["tube"]
    assert [one["name"] for one in document["failed"]] == ["torn"]


def test_outfit_needs_every_layer(folder: Path, tmp_path: Path, dressform: Run) -> None:
    outfits = tmp_path / "outfits.toml"
    outfits.write_text(f'[outfit.ashore]\nlayers = ["{folder / "tube.obj"}", "{folder / "torn.glb"}"]\n')
    ended = dressform(
        "outfit", outfits, "ashore", "--body", folder / "phantom.obj", "--units", "m", "--out", tmp_path / "out"
    )
    assert ended.code == 2
    assert "torn" in ended.line
    assert not (tmp_path / "out").exists()


def test_page_opens_beside_a_broken_garment_and_ends_with_two(
    folder: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dressform.cli.show_run.serve", lambda *_, on_ready: on_ready())
    garments = (folder / "tube.obj", folder / "torn.glb")
    ended = dressform("show", "--body", folder / "phantom.obj", "--units", "m", "--no-browser", "--no-check", *garments)
    assert ended.code == 2
    assert re.search(r"^torn: not read: ", ended.out, re.MULTILINE)
    assert "Ctrl-C ends it" in ended.out
