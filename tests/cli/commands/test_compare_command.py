"""`dressform compare` sets two results files, methods or settings against each other, and is a gate."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from dressform.formats.results.json_schema import stored_schema

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
        (["smooth", "nearest"], "must be given with garments for methods and settings, got none"),
        (["a.json", "smooth"], "must be two results files, or none, got 1 of 2"),
        (["glue", "smooth", "--body", "phantom.obj", "--garments", "tube.obj"], "must be one of nearest"),
        (["a.json", "b.json"], "a.json"),
    ],
)
def test_what_cannot_be_compared_is_refused_in_one_line(
    phantom: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch, words: list[str], line: str
) -> None:
    monkeypatch.chdir(phantom)
    ended = dressform("compare", *words)
    assert ended.code == 2
    assert line in ended.line
