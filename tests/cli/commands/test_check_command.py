"""`dressform check` finds what is there, says it in every form, and ends with the right code."""

import csv
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from PIL import Image

from dressform.formats.gltf.save import save_garment
from dressform.formats.results.json_schema import results_schema
from phantoms import MORPHS, phantom_files, phantom_tube, tube, write_obj

pytestmark = pytest.mark.long

Run = Callable[..., Any]
FEW = ("--shapes", "2", "--workers", "1")


@pytest.fixture(scope="module")
def tight(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A body whose belly comes through: the tube's file says that no vertex follows."""
    folder = tmp_path_factory.mktemp("tight")
    phantom_files(folder)
    garment = phantom_tube(clearance=0.01)
    save_garment(replace(garment, strength=np.zeros(len(garment.vertices))), folder / "tube.glb")
    return folder


def test_a_garment_that_follows_well_is_clean(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "r.json"
    ended = dressform("check", "--body", phantom / "phantom.obj", phantom / "tube.obj", "--json", out, *FEW)
    assert ended.code == 0, ended.out + ended.err
    assert ended.err == ""
    assert "\x1b" not in ended.out
    document = json.loads(out.read_text(encoding="utf-8"))
    jsonschema.validate(document, results_schema())
    assert document["severity"] in ("clean", "slight")
    assert list(document["body"]["range"]) == list(MORPHS)
    labels = [shape["label"] for shape in document["garments"][0]["shapes"]]
    assert "base" in labels
    assert {"belly=1", "girth=1", "tall=1"} <= set(labels)
    base = next(shape for shape in document["garments"][0]["shapes"] if shape["label"] == "base")
    assert base["show_through"]["exposed_cm2"] == 0.0
    assert base["show_through"]["hidden_cm2"] > 1000
    assert base["clearance_change"]["p95_mm"] == 0.0


def test_a_marked_copy_needs_no_method_and_no_wardrobe(tight: Path, tmp_path: Path, dressform: Run) -> None:
    words = (
        "check",
        "--body",
        tight / "phantom.obj",
        tight / "tube.glb",
        "--marked",
        tmp_path / "marked.glb",
        "--no-causes",
    )
    ended = dressform(*words, *FEW)
    assert ended.code == 1, ended.err
    assert "Marked on the garment: " in ended.out
    assert (tmp_path / "marked.glb").is_file()
    refused = dressform(*words, "--engine", "processes", *FEW)
    assert refused.code == 2
    assert refused.line.startswith("dressform: check: `--marked` must be left out of a wardrobe")


def test_a_garment_that_does_not_follow_lets_the_belly_through_and_ends_with_one(
    tight: Path, tmp_path: Path, dressform: Run
) -> None:
    out = tmp_path / "r.json"
    words = ["check", "--body", tight / "phantom.obj", tight / "tube.glb", "--json", out, *FEW]
    ended = dressform(*words)
    assert ended.code == 1
    document = json.loads(out.read_text(encoding="utf-8"))
    jsonschema.validate(document, results_schema())
    garment = document["garments"][0]
    assert garment["severity"] == "grave"
    belly = next(shape for shape in garment["shapes"] if shape["label"] == "belly=1")
    assert belly["show_through"]["exposed_cm2"] > 20
    assert belly["show_through"]["depth_max_mm"] == pytest.approx(50, abs=4)
    place = next(place for place in belly["places"] if place["fault"] == "exposed")
    assert place["side"].startswith("front")
    assert place["height_mm"] == pytest.approx(1000, abs=120)
    assert "skin shows" in ended.out
    assert "belly=1" in ended.out


def test_the_folder_holds_results_tables_and_pictures(tight: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "out"
    words = ["check", "--body", tight / "phantom.obj", tight / "tube.glb", "--out", out, *FEW]
    assert dressform(*words).code == 1
    found = sorted(str(path.relative_to(out)) for path in out.rglob("*") if path.is_file())
    assert found == [
        "clusters.csv", "pictures/tube-smooth-base.png", "pictures/tube-smooth-worst.png", "results.json",
        "shapes.csv", "sheet.png", "summary.txt",
    ]  # fmt: skip
    document = json.loads((out / "results.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, results_schema())
    for picture in document["garments"][0]["pictures"]:
        with Image.open(out / picture) as image:
            assert image.size[0] > 800
    with (out / "shapes.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == len(document["garments"][0]["shapes"])
    assert rows[0]["severity"] == "grave"
    assert "tube" in (out / "summary.txt").read_text(encoding="utf-8")


def test_all_ways_of_lifting_are_set_beside_each_other(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "r.json"
    fine = write_obj(tmp_path / "tube.obj", *tube(clearance=0.02, rings=60, sides=100))  # else too coarse for pucker
    words = ["check", "--body", phantom / "phantom.obj", fine, "--method", "all", "--json", out]
    ended = dressform(*words, "--shapes", "0", "--workers", "1")
    document = json.loads(out.read_text(encoding="utf-8"))
    pucker = {one["method"]: max(shape["pucker"]["p95"] for shape in one["shapes"]) for one in document["garments"]}
    assert set(pucker) == {"nearest", "nearest-three", "surface", "smooth"}
    assert pucker["smooth"] < pucker["nearest"]
    for method in pucker:
        assert method in ended.out


def test_bands_from_a_file_change_the_verdict(tight: Path, tmp_path: Path, dressform: Run) -> None:
    bands = tmp_path / "bands.toml"
    bands.write_text("[bands]\n" + "".join(f"{name} = [1e6, 2e6, 3e6]\n" for name in (
        "exposed", "inside", "depth", "pucker", "stretch", "clearance", "folded", "crossing", "seam", "hard", "layers"
    )))  # fmt: skip
    words = ["check", "--body", tight / "phantom.obj", tight / "tube.glb", *FEW]
    assert dressform(*words, "--bands", bands).code == 0  # and 1 without, as the test above shows


def test_two_processes_find_what_one_finds(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    found = []
    for workers in (1, 2):
        out = tmp_path / f"{workers}.json"
        words = ["check", "--body", phantom / "phantom.obj", phantom / "tube.obj", "--json", out]
        dressform(*words, "--shapes", "2", "--workers", workers)
        shapes = json.loads(out.read_text(encoding="utf-8"))["garments"][0]["shapes"]
        found.append([{key: value for key, value in shape.items() if key != "ms"} for shape in shapes])
    assert found[0] == found[1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["none.obj"], "none.obj: there is no such file"),
        (["tube.obj", "sub/tube.obj"], "`garments` must be named differently, got 'tube' twice"),
        (["tube.obj", "--method", "glue"], "must be one of nearest, nearest-three, surface, smooth"),
        (["tube.obj", "--shapes", "-1"], "`--shapes` must be 0 to 100,000, got -1"),
        (["tube.obj", "--workers", "0"], "`--workers` must be 1 or more, got 0"),
        (["tube.obj", "--strength", "2"], "`--strength` must be in [0, 1], got 2"),
        (["tube.obj", "--strength", "much"], "`--strength` must be NUMBER or PART=NUMBER, got 'much'"),
        (["tube.obj", "--off", "collar"], "`--strength` must be parts of the garments: tube, got 'collar'"),
        (["tube.obj", "--falloff", "-1"], "`--falloff` must be 0 to 1000 mm"),
        (["tube.obj", "--bands", "bad.toml"], "bad.toml: make_bands: `settings` must be named in_front"),
        (["tube.obj", "--bands", "tube.obj"], "tube.obj: is not TOML"),
        (["tube.obj", "--margin", "0"], "`--margin` must be above 0 and at most 100 mm, got 0"),
        (["beside.obj"], "nowhere near the body"),
        (["tube.obj", "--json", "bad.toml/where.json"], "bad.toml/where.json: cannot be written"),
        (["tube.obj", "--out", "tube.obj"], "tube.obj: cannot be written"),
    ],
)
def test_bad_input_ends_with_two_one_line_and_no_file(
    words: list[str], said: str, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    body, _ = phantom_files(tmp_path)
    vertices, faces = tube()
    write_obj(tmp_path / "beside.obj", vertices + 1.5, faces)
    write_obj(tmp_path / "sub" / "tube.obj", vertices, faces)
    (tmp_path / "bad.toml").write_text("[bands]\ntoo_tight = [1, 2, 3]\n")
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.rglob("*"))
    ended = dressform("check", "--body", body.name, *words, *(() if "--shapes" in words else ("--shapes", "0")))
    assert ended.code == 2
    assert said in ended.line
    assert sorted(tmp_path.rglob("*")) == before


def rows_kept(store: Path) -> int:
    if not store.exists():
        return 0
    with closing(sqlite3.connect(store)) as base:
        try:
            return int(base.execute("SELECT count(*) FROM rows").fetchone()[0])
        except sqlite3.OperationalError:  # not yet made, or just being written
            return 0


def test_an_interrupt_ends_with_130_leaves_nothing_and_a_store_goes_on(phantom: Path, tmp_path: Path) -> None:
    store = tmp_path / "rows.sqlite"
    words = [sys.executable, "-m", "dressform", "check", "--body", str(phantom / "phantom.obj")]
    words += [str(phantom / "tube.obj"), "--workers", "2", "--store", str(store)]
    words += ["--shapes", "3000", "--json", "r.json", "--out", "out"]
    running = subprocess.Popen(
        words, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    for _ in range(600):
        if rows_kept(store):
            break
        time.sleep(0.1)
    assert running.poll() is None
    os.killpg(running.pid, signal.SIGINT)
    out, err = running.communicate(timeout=60)
    assert running.returncode == 130
    assert err == "dressform: interrupted; nothing was left half-written.\n"
    assert out == ""
    assert {path.name.split("-")[0] for path in tmp_path.iterdir()} == {"rows.sqlite"}
    assert rows_kept(store) > 0


def test_rows_of_a_store_are_not_measured_again(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    found = []
    for name in ("first", "second"):
        out = tmp_path / f"{name}.json"
        words = ["check", "--body", phantom / "phantom.obj", phantom / "tube.obj", "--json", out, *FEW]
        assert dressform(*words, "--store", tmp_path / "rows.sqlite").code == 0
        found.append(json.loads(out.read_text(encoding="utf-8"))["garments"][0])
    assert found[0]["shapes"] == found[1]["shapes"]
    assert found[0]["prepare_ms"] > 0
    assert found[1]["prepare_ms"] == 0


def test_a_reader_that_goes_away_does_not_cost_the_files(phantom: Path, tmp_path: Path) -> None:
    words = [sys.executable, "-m", "dressform", "check", "--body", str(phantom / "phantom.obj")]
    words += [str(phantom / "tube.obj"), "--json", "r.json", *FEW]
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(words, cwd=tmp_path, stdout=writer, stderr=subprocess.PIPE, text=True, check=False)
    os.close(writer)
    assert done.returncode == 141
    assert done.stderr == ""
    jsonschema.validate(json.loads((tmp_path / "r.json").read_text(encoding="utf-8")), results_schema())


def test_a_fitted_file_with_its_receipt_is_measured_as_it_is_until_the_file_changes(
    tmp_path: Path, dressform: Run
) -> None:
    phantom_files(tmp_path, clearance=0.003)
    words = ("--body", tmp_path / "phantom.obj")
    fitted, found = tmp_path / "fitted.glb", tmp_path / "found.json"
    assert dressform("fit", *words, tmp_path / "tube.obj", "-o", fitted, "--method", "nearest").code == 0
    looked = ("--shapes", "0", "--no-causes", "--json", found, "--overwrite")
    dressform("check", *words, fitted, *looked)
    garment = json.loads(found.read_text(encoding="utf-8"))["garments"][0]
    assert garment["method"] == "file"
    assert any("Measured as its file has it follow" in note for note in garment["notes"])
    assert all(shape["severities"]["exposed"] == "clean" for shape in garment["shapes"])
    receipt = fitted.with_name("fitted.receipt.json")
    receipt.write_text(receipt.read_text(encoding="utf-8").replace('"sha256": "', '"sha256": "0'), encoding="utf-8")
    dressform("check", *words, fitted, *looked)
    assert json.loads(found.read_text(encoding="utf-8"))["garments"][0]["method"] == "smooth"
