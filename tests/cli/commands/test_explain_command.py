"""`dressform explain` tells the whole reasoning from the JSON alone."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from dressform.causes.action import Action
from dressform.causes.results import BODY, GARMENT, TOO_FEW_VERTICES, SharedPlace
from dressform.formats.results.check_json import results_json
from explanations import causes, cluster, explanation
from findings import check_report

Run = Callable[..., Any]
SHARED = SharedPlace("exposed", "torso", "", 1.0, (("guernsey smooth", "1"),), BODY, "two fail")


@pytest.fixture
def results(tmp_path: Path) -> Path:
    path = tmp_path / "results.json"
    every = (explanation(), explanation("", of=cluster("2"), evidence={}))
    path.write_text(results_json(replace(check_report(), causes=causes(*every, shared=(SHARED,)))), encoding="utf-8")
    return path


def test_the_whole_reasoning_is_printed(results: Path, dressform: Run) -> None:
    ended = dressform("explain", results, "guernsey/1")
    assert ended.code == 0, ended.err
    for words in (
        "guernsey (smooth), place 1: skin shows",
        "Seen on 2 shapes",
        "Tried, one ingredient at a time",
        "too few vertices where the body bends: 90 % of the fault goes with it. It lies with the garment.",
        "longest edge of these triangles, as modelled",
        "torso, front left, 112 cm above the ground: split the edges\nor `refine` splits them\n",
        "Others fail here too\ntwo fail.\n",
    ):
        assert words in ended.out


def test_an_action_is_explained_by_its_most_noticed_place(tmp_path: Path, dressform: Run) -> None:
    path = tmp_path / "results.json"
    every = causes(explanation(), explanation(of=cluster("2")), explanation(of=cluster("3")))
    done = Action("B", TOO_FEW_VERTICES, "", GARMENT, "belly", ("3", "2"), 0.02, 0, ())
    with_action = replace(every, actions={"guernsey smooth": (done,)})
    path.write_text(results_json(replace(check_report(), causes=with_action)), encoding="utf-8")
    for name, said in (("guernsey/B", "place 3 of action B"), ("guernsey/2", "place 2 of action B")):
        assert dressform("explain", path, name).out.startswith(f"guernsey (smooth), {said}: skin shows")
    assert (
        "must be one of guernsey/1, guernsey/2, guernsey/3, got 'guernsey/A'"
        in dressform("explain", path, "guernsey/A").line
    )


def test_names_that_are_listed_are_names_that_are_taken(results: Path, dressform: Run) -> None:
    listed = dressform("explain", results, "guernsey/7").line.split("one of ")[1].split(", got")[0].split(", ")
    assert [dressform("explain", results, name).code for name in listed] == [0, 0]


def test_a_cluster_without_a_cause_has_no_advice(results: Path, dressform: Run) -> None:
    ended = dressform("explain", results, "guernsey/2")
    assert ended.code == 0
    assert "None of these takes enough away" in ended.out
    for words in ("What to change", "Evidence", "Others fail here too"):
        assert words not in ended.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("results.json", "guernsey/7"), "one of guernsey/1, guernsey/2, got 'guernsey/7'"),
        (("missing.json", "guernsey/1"), "missing.json: there is no such file"),
        (("old.json", "guernsey/1"), "old.json: holds dressform-results/1, not dressform-results/3"),
    ],
)
def test_bad_input_ends_with_two_and_one_line(
    words: tuple[str, ...], said: str, results: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(results.parent)
    Path("old.json").write_text('{"schema": "dressform-results/1"}', encoding="utf-8")
    ended = dressform("explain", *words)
    assert ended.code == 2
    assert said in ended.line
