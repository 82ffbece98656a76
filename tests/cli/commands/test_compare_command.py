"""`dressform compare` sets two results files, methods or settings against each other, and is a gate."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from dressform.formats.results.json_schema import stored_schema
from phantoms import phantom_files

Run = Callable[..., Any]
FEW = ("--shapes", "0", "--workers", "1")


def test_a_method_that_stays_behind_fails_the_gate_with_pictures_and_records(
    phantom: Path, tmp_path: Path, dressform: Run
) -> None:
    """The same words with the sides swapped pass it."""
    (tmp_path / "still.toml").write_text(
        'format = "dressform-following/1"\n[garment.tube]\nstrength = 0.0\n', encoding="utf-8"
    )
    words = ("--body", phantom / "phantom.obj", "--garments", phantom / "tube.obj", *FEW)
    out = tmp_path / "found"
    ended = dressform("compare", "smooth", tmp_path / "still.toml", *words, "--out", out)
    assert ended.code == 1, ended.err
    assert "What got graver, the largest first" in ended.out
    assert "GRAVER: " in ended.out
    told = json.loads((out / "comparison.json").read_text(encoding="utf-8"))
    jsonschema.validate(told, stored_schema("comparison.schema.json"))
    assert told["sides"] == ["smooth", "still"]
    assert any("tube-exposed.png" in path.name for path in out.glob("side-2-*.png"))
    ended = dressform("compare", out / "side-2.json", out / "side-1.json")
    assert ended.code == 0, ended.err
    assert "Nothing got graver by more than 5 %." in ended.out
    assert "What got better, the largest first" in ended.out


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["smooth"], "must be two or more, got 1"),
        (
            ["smooth", "nearest"],
            "compare: `--body` must be given with --garments where methods or settings are compared",
        ),
        (["smooth", "nearest", "--body", "phantom.obj"], "compare: `--garments` must be given with --body"),
        (["a.json", "smooth"], "must be two results files, or none, got 1 of 2"),
        (
            ["glue", "smooth", "--body", "phantom.obj", "--garments", "tube.obj"],
            "`sides` must be results (.json), settings",
        ),
        (["smoth", "nearest"], "got 'smoth'. Write smooth."),
        (["a.json", "b.json"], "a.json"),
        (["a.json", "b.json", "--body", "phantom.obj"], "`sides` must be results files without --body and --garments"),
        (
            ["a.json", "b.json", "--tolerance", "much"],
            "`--tolerance` must be a share or FAULT=AMOUNT, got 'much'",
        ),
        (["a.json", "b.json", "--tolerance", "dept=1mm"], "got 'dept'. Write depth."),
        (
            ["a.json", "b.json", "--tolerance", "depth=1cm2"],
            "in mm for depth, got 'depth=1cm2'. Write depth=1mm.",
        ),
        (["a.json", "b.json", "--pair", "coat"], "compare: `--pair` must be A=B, a garment of each side, got 'coat'"),
        (["smooth", "nearest", "--pair", "a=b"], "`--pair` must be given for two results files alone"),
    ],
)
def test_what_cannot_be_compared_is_refused_in_one_line(
    phantom: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch, words: list[str], line: str
) -> None:
    monkeypatch.chdir(phantom)
    ended = dressform("compare", *words)
    assert ended.code == 2
    assert line in ended.line


def test_results_whose_files_are_there_get_pictures_and_others_are_told_why(tmp_path: Path, dressform: Run) -> None:
    body, tube = phantom_files(tmp_path)
    for name, strength in (("before", "1"), ("after", "0")):
        words = ("--strength", strength, "--no-causes", "--json", tmp_path / f"{name}.json")
        dressform("check", tube, "--body", body, *FEW, *words)
    sides = (tmp_path / "before.json", tmp_path / "after.json")
    ended = dressform("compare", *sides, "--out", tmp_path / "found")
    assert ended.code == 1, ended.err
    assert any("tube-exposed.png" in path.name for path in (tmp_path / "found").glob("side-2-*.png"))
    tube.write_text(tube.read_text(encoding="utf-8").replace("v 0 ", "v 0.001 ", 1), encoding="utf-8")
    ended = dressform("compare", *sides, "--out", tmp_path / "then")
    assert f"note: no picture of tube of before: {tube} is no longer the file that was checked." in ended.out
    assert not list((tmp_path / "then").glob("*.png"))
    ended = dressform("compare", *sides, "--report", tmp_path / "both.html")
    assert ended.code == 2
    assert "compare: `--report` must be of garments whose files are there as they were checked" in ended.line


def test_an_amount_lets_one_fault_pass_the_gate(tmp_path: Path, dressform: Run) -> None:
    body, tube = phantom_files(tmp_path)
    for name, strength in (("before", "1"), ("after", "0.9")):
        words = ("--strength", strength, "--no-causes", "--json", tmp_path / f"{name}.json")
        dressform("check", tube, "--body", body, *FEW, *words)
    sides = (tmp_path / "before.json", tmp_path / "after.json")
    ended = dressform("compare", *sides, "--json", tmp_path / "told.json")
    assert ended.code == 1
    told = json.loads((tmp_path / "told.json").read_text(encoding="utf-8"))
    graver = {one["measure"]: one["change"] for one in told["pairs"][0]["garments"] if one["graver"]}
    limits = [f"{fault}={change + 0.1:.1f}" for fault, change in graver.items()]
    ended = dressform("compare", *sides, *(word for limit in limits for word in ("--tolerance", limit)))
    assert ended.code == 0, ended.out
    assert ended.out.startswith("Nothing got graver by more than 5 % (")
