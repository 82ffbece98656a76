"""`dressform case import` and `triage`: from a list of complaints to answers, interrupted, and over versions."""

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from dressform.body.range import Range
from dressform.body.shapes import ShapeSettings
from dressform.cli.app import run as run_line
from dressform.formats.range_file import range_beside, write_range
from dressform.formats.results.json_schema import stored_schema
from dressform.jobs.triage import bench, examine, run
from dressform.jobs.triage.records import CausedGarment, SeenCase
from phantoms import MORPHS, phantom_files, tube, write_obj

Run = Callable[..., Any]
LIST = """Garment;Complaint;belly;Who;Link
tube;My tummy comes through the front, ask me at ada@salt.example;1;Ada Brack;board/1
tube;"Skin at the belly shows; says Ada";;Ada Brack;board/2
tube;the sleeves are torn at the seam;;Tom;
tube;it is just awful;;;
scarf;Gapes;;;
"""


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A phantom, a tube of cloth that lies within 5 mm of it and does not follow, and complaints about it."""
    folder = tmp_path_factory.mktemp("told")
    body, _ = phantom_files(folder, clearance=0.005)
    narrow = Range(MORPHS, np.zeros(3), np.array([1.0, 0.05, 0.05]))  # a tube can be let out beyond all of it
    range_beside(body).write_bytes(write_range(narrow))
    (folder / "list.csv").write_bytes(LIST.replace("\n", "\r\n").encode("utf-8-sig"))
    (folder / "still.toml").write_text('format = "dressform-following/1"\n[garment.tube]\nstrength = 0.0\n')
    return folder


@pytest.fixture(scope="module", autouse=True)
def few_shapes() -> Iterator[None]:
    """The range is searched at its ends and worst corners alone, which is enough for a tube."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bench, "SEARCHED", ShapeSettings(strongest=0, sobol=0))
        yield


@pytest.fixture(scope="module")
def triaged(told: Path) -> Path:
    """The same folder, imported and triaged."""
    words = ["--body", str(told / "phantom.obj"), "--garments", str(told / "tube.obj")]
    settings = ["--settings", str(told / "still.toml")]
    assert run_line(["case", "import", str(told / "list.csv"), *words, "-o", str(told / "cases"), *settings]) == 1
    by_hand = [str(told / "tube.obj"), *words[:2], "--weights", "belly=1", "--strength", "0"]
    assert run_line(["case", "save", *by_hand, "-o", str(told / "cases" / "saved.case.json")]) == 0
    assert run_line(["triage", str(told / "cases"), *words, "--out", str(told / "out"), "--workers", "1"]) == 1
    return told


def results(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "triage.json").read_text(encoding="utf-8"))
    return found


def test_an_import_tells_what_it_could_not_read_with_its_line(told: Path, tmp_path: Path, dressform: Run) -> None:
    words = ("--body", told / "phantom.obj", "--garments", told, "-o", tmp_path / "cases")
    ended = dressform("case", "import", told / "list.csv", *words)
    assert ended.code == 1, ended.err
    assert (
        "4 cases imported; 3 without a shape, to be looked for over the whole range; 1 row could not be read."
        in ended.out
    )
    assert "line 6: `garment` must be one of phantom, tube, got 'scarf'" in ended.out
    assert len(list((tmp_path / "cases").iterdir())) == 4


def test_complaints_of_one_belly_are_one_matter_and_others_are_told_apart(triaged: Path) -> None:
    found = results(triaged / "out")
    jsonschema.validate(found, stored_schema("triage.schema.json"))
    assert [case["outcome"] for case in found["cases"]] == ["found", "found", "not found", "unclear", "found"]
    (matter,) = found["matters"]
    assert (matter["complaints"], matter["people"]) == (3, 2)
    assert matter["fault"] == "exposed"
    assert matter["answer"].startswith("**What is seen.**")
    assert (triaged / "out" / matter["picture"]).read_bytes().startswith(b"\x89PNG")


def test_nobody_is_named_anywhere_unless_asked(triaged: Path, tmp_path: Path, dressform: Run) -> None:
    for name in ("triage.json", "triage.md", "triage.html"):
        text = (triaged / "out" / name).read_text(encoding="utf-8")
        assert not any(word in text for word in ("Ada", "Brack", "Tom", "board/", "salt.example")), name
    shutil.copytree(triaged / "out", tmp_path / "named")
    words = ("--body", triaged / "phantom.obj", "--garments", triaged / "tube.obj")
    ended = dressform(
        "triage", triaged / "cases", *words, "--out", tmp_path / "named", "--with-names", "--workers", "1"
    )
    assert "5 complaints had been finished before" in ended.out
    assert {case["who"] for case in results(tmp_path / "named")["cases"]} == {"Ada Brack", "Tom", ""}
    assert "board/1" in (tmp_path / "named" / "triage.html").read_text(encoding="utf-8")


def test_a_triage_that_was_killed_goes_on_where_it_was(
    triaged: Path, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It ends after two cases; the second run looks at the others alone, and finds the same."""
    looked: list[str] = []
    look = examine.look_at_case

    def counted(at: bench.TriageBench, case: examine.CaseTask) -> SeenCase:
        if len(looked) == 2:
            raise KeyboardInterrupt
        looked.append(case.file)
        return look(at, case)

    words = ("--body", triaged / "phantom.obj", "--garments", triaged / "tube.obj", "--out", tmp_path, "--workers", "1")
    monkeypatch.setattr(examine, "explain_cases", lambda *_, **__: CausedGarment({}, {}))  # takes longest
    monkeypatch.setattr(examine, "look_at_case", counted)
    assert dressform("triage", triaged / "cases", *words).code == 130
    assert not (tmp_path / "triage.json").exists()
    monkeypatch.setattr(examine, "look_at_case", lambda at, case: looked.append(case.file) or look(at, case))
    assert dressform("triage", triaged / "cases", *words).code == 1
    assert len(looked) == len(set(looked)) == 5
    again, whole = results(tmp_path), results(triaged / "out")
    for one, other in zip(again["cases"], whole["cases"], strict=True):
        assert {key: one[key] for key in ("file", "outcome", "place", "found_at", "words")} == {
            key: other[key] for key in ("file", "outcome", "place", "found_at", "words")
        }


def test_a_mended_garment_cures_its_matter_and_the_note_says_so(triaged: Path, tmp_path: Path, dressform: Run) -> None:
    write_obj(tmp_path / "tube.obj", *tube(clearance=0.09))
    words = ("--body", triaged / "phantom.obj", "--garments", tmp_path / "tube.obj", "--workers", "1")
    before = triaged / "out" / "triage.json"
    ended = dressform("triage", triaged / "cases", *words, "--out", tmp_path / "out", "--against", before)
    assert ended.code == 0, ended.err
    found = results(tmp_path / "out")
    assert [change["kind"] for change in found["changes"]] == ["cured"]
    (saved,) = [case for case in found["cases"] if case["file"] == "saved.case.json"]
    assert saved["outcome"] == "not found"
    assert saved["reason"].startswith("When it was saved: skin shows (grave")
    assert "## Mended" in (tmp_path / "out" / "release.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["triage", "nowhere"], "nowhere: is no folder"),
        (["triage", ".", "--against", "list.csv"], "list.csv: is not JSON"),
        (["triage", ".", "--garments", "empty"], "must be files or folders of them, got empty without"),
        (["case", "import", "list.csv", "-o", "phantom.obj"], "phantom.obj: cannot be written (is a file)"),
        (["case", "import", "tube.obj", "-o", "new"], "tube.obj: ends with .obj"),
    ],
)
def test_wrong_calls_are_refused_in_one_line(
    told: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch, words: list[str], line: str
) -> None:
    monkeypatch.chdir(told)
    (told / "empty").mkdir(exist_ok=True)
    given = [*words, "--body", "phantom.obj"]
    given += [] if "--garments" in words else ["--garments", "tube.obj"]
    given += [] if "-o" in words else ["--out", "elsewhere"]
    ended = dressform(*given)
    assert ended.code == 2
    assert line in ended.line


def test_a_folder_of_more_cases_than_are_read_at_once_is_refused(
    triaged: Path, monkeypatch: pytest.MonkeyPatch, dressform: Run, tmp_path: Path
) -> None:
    monkeypatch.setattr(run, "MAX_CASES", 3)
    words = ("--body", triaged / "phantom.obj", "--garments", triaged / "tube.obj", "--out", tmp_path)
    assert "holds 5 cases" in dressform("triage", triaged / "cases", *words).line
