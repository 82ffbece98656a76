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
        ("belly", "`weights` must be NAME=NUMBER, separated by commas, got 'belly'"),
        ("belly=much", "must be NAME=NUMBER, separated by commas, got 'belly=much'"),
        ("belly=1,belly=0", "`weights` must be named once each, got 'belly' twice"),
        ("chin=1", "must be morphs of 'phantom': belly, girth, tall, got 'chin'"),
        ("belly=nan", "must be finite"),
    ],
)
def test_wrong_weights_end_with_two_and_one_line(weights: str, said: str, phantom: Path, dressform: Run) -> None:
    ended = dressform("measure", phantom / "phantom.obj", "--weights", weights)
    assert ended.code == 2
    assert said in ended.line
