"""`dressform check` says why a fault is there and what to change; `dressform explain` tells the rest from its JSON."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from dressform.causes.results import TOO_FEW_VERTICES
from dressform.formats.results.json_schema import results_schema
from phantoms import phantom_files, tube, write_obj

Run = Callable[..., Any]
FEW = ("--shapes", "0", "--workers", "1")


@pytest.fixture(scope="module")
def coarse(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A body and a tube whose rings are 17 cm apart: the belly, which bends round 12 cm, comes through between them."""
    folder = tmp_path_factory.mktemp("coarse")
    phantom_files(folder)
    write_obj(folder / "coarse.obj", *tube(rings=5, clearance=0.01))
    return folder


def checked(folder: Path, run: Run, *words: object) -> tuple[Any, dict[str, Any]]:
    out = folder / "r.json"
    ended = run("check", "--body", folder / "phantom.obj", folder / "coarse.obj", "--json", out, *FEW, *words)
    document = json.loads(out.read_text(encoding="utf-8"))
    jsonschema.validate(document, results_schema())
    return ended, document


def test_the_cause_and_the_advice_stand_at_the_place(coarse: Path, dressform: Run) -> None:
    ended, document = checked(coarse, dressform)
    assert ended.code == 1, ended.err
    assert "coarse (smooth): what to do" in ended.out
    assert f"cause: {TOO_FEW_VERTICES}" in ended.out
    first = document["garments"][0]["clusters"][0]
    assert (first["name"], first["place"]["fault"], first["cause"]) == ("1", "exposed", TOO_FEW_VERTICES)
    assert first["owner"] == "the garment"
    assert first["shares"][0]["share"] > 0.5
    assert first["shares"][0]["alone"] < 0.1 * first["measured"]
    assert first["evidence"]["edge_length_mm"] > 170
    assert "edges here are up to" in first["advice"]["what"]
    assert document["garments"][0]["explain_ms"] > 0
    assert document["settings"]["causes"] is True
    assert document["settings"]["following"] == {"coarse": {}}


def test_causes_may_be_left_out(coarse: Path, dressform: Run) -> None:
    ended, document = checked(coarse, dressform, "--no-causes")
    assert ended.code == 1
    assert "where, and how much" in ended.out
    assert "cause: " not in ended.out
    assert document["garments"][0]["clusters"] == []
    assert document["settings"]["causes"] is False
    explained = dressform("explain", coarse / "r.json", "coarse/1")
    assert explained.code == 2
    assert "none: the garments are clean, or causes were not sought" in explained.line


def test_each_way_of_lifting_has_causes_of_its_own(coarse: Path, dressform: Run) -> None:
    ended, document = checked(coarse, dressform, "--method", "all")
    assert ended.code == 1
    assert "cause: " not in ended.out  # the places are left to the other outputs where ways are compared
    found = {garment["method"]: garment["clusters"] for garment in document["garments"]}
    assert set(found) == {"nearest", "nearest-three", "surface", "smooth"}
    for clusters in found.values():
        assert "exposed" in [cluster["place"]["fault"] for cluster in clusters]
    assert dressform("explain", coarse / "r.json", "coarse nearest/1").code == 0
    ambiguous = dressform("explain", coarse / "r.json", "coarse/1")
    assert ambiguous.code == 2
    assert "coarse smooth/1" in ambiguous.line


def test_the_folder_lists_clusters_for_a_spreadsheet(coarse: Path, tmp_path: Path, dressform: Run) -> None:
    words = ("check", "--body", coarse / "phantom.obj", coarse / "coarse.obj", "--out", tmp_path / "out", *FEW)
    assert dressform(*words).code == 1
    with (tmp_path / "out" / "clusters.csv").open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert rows[0]["cause"] == TOO_FEW_VERTICES
    assert "edges here are up to" in rows[0]["what"]
    assert "do: split" in (tmp_path / "out" / "summary.txt").read_text(encoding="utf-8")
