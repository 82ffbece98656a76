"""`dressform measure` prints and writes tape measures at any weights."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from phantoms import STATURE, TALL_GAIN

Run = Callable[..., Any]


def stature(path: Path) -> float:
    document = json.loads(path.read_text(encoding="utf-8"))
    assert document["schema"] == "dressform-measures/1"
    rows = document["bodies"][0]["measures"]
    return next(row["mm"] for row in rows if row["name"] == "stature")


@pytest.mark.parametrize("weight", [0.0, 0.5, 1.0])
def test_the_stature_is_that_of_the_weights(weight: float, phantom: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "m.json"
    ended = dressform("measure", phantom / "phantom.obj", "--weights", f"tall={weight}", "--json", out)
    assert ended.code == 0, ended.err
    assert stature(out) == pytest.approx(1000 * STATURE * (1 + TALL_GAIN * weight), abs=0.1)
    shown = next(line for line in ended.out.splitlines() if line.strip().startswith("stature"))
    assert float(shown.split()[1]) == pytest.approx(100 * STATURE * (1 + TALL_GAIN * weight), abs=0.06)


def test_weights_outside_the_range_are_measured_and_told(phantom: Path, dressform: Run) -> None:
    assert "outside the range" in dressform("measure", phantom / "phantom.obj", "--weights", "tall=2").out
    assert "outside the range" not in dressform("measure", phantom / "phantom.obj", "--weights", "tall=1").out


@pytest.mark.parametrize(
    ("weights", "said"),
    [
        ("belly", "`--weights` must be NAME=NUMBER, separated by commas, got 'belly'"),
        ("belly=much", "must be NAME=NUMBER, separated by commas, got 'belly=much'"),
        ("belly=1,belly=0", "`--weights` must be named once each, got 'belly' twice"),
        ("chin=1", "`--weights` must be names of morphs: belly, girth, tall, got 'chin'"),
        ("belly=nan", "must be finite"),
    ],
)
def test_wrong_weights_end_with_two_and_one_line(weights: str, said: str, phantom: Path, dressform: Run) -> None:
    ended = dressform("measure", phantom / "phantom.obj", "--weights", weights)
    assert ended.code == 2
    assert said in ended.line


def test_the_shape_that_a_tape_asks_for_is_found_and_what_is_missed_is_said(
    phantom: Path, tmp_path: Path, dressform: Run
) -> None:
    out = tmp_path / "m.json"
    asked = 100 * (STATURE + 0.5 * TALL_GAIN * STATURE)
    ended = dressform("measure", phantom / "phantom.obj", "--find", f"stature={asked}", "--json", out)
    assert ended.code == 0
    found = json.loads(out.read_text(encoding="utf-8"))["bodies"][0]["found"]
    assert found["weights"]["tall"] == pytest.approx(0.5, abs=0.01)
    assert found["met"] is True
    assert stature(out) == pytest.approx(10 * asked, abs=0.5)
    ended = dressform("measure", phantom / "phantom.obj", "--find", "stature=250")
    assert "nearest reachable shape: tall=1" in " ".join(ended.out.split())
    missed = 100 * STATURE * (1 + TALL_GAIN) - 250
    assert f"{missed:+.1f}" in ended.out


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (["--find", "stature"], "`--find` must be NAME=NUMBER"),
        (["--find", "sleeve=60"], "`--find` must be measures by name: stature"),
        (["--find", "stature=180", "--weights", "tall=1"], "`--find` must be given without --weights"),
    ],
)
def test_what_no_tape_can_ask_is_refused(phantom: Path, dressform: Run, words: list[str], problem: str) -> None:
    ended = dressform("measure", phantom / "phantom.obj", *words)
    assert ended.code == 2
    assert problem in ended.line
