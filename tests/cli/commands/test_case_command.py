"""`dressform case`: a complaint is saved, replayed, told cured or still wrong, and grouped with its like."""

import base64
import contextlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from cases import pixels, replaced
from dressform.cli.app import run
from dressform.cli.commands import case_command
from dressform.faults.results import Place
from dressform.formats.case_file import PNG_START, read_case, write_case
from dressform.jobs.case import replay
from dressform.jobs.case.seeing import still_wrong
from phantoms import phantom_files, tube, write_obj

pytestmark = pytest.mark.long

pytestmark = pytest.mark.long

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a body, a tube of cloth that does not follow, and a case about the belly that comes through."""
    folder = tmp_path_factory.mktemp("saved")
    phantom_files(folder)
    with contextlib.chdir(folder):
        words = ["case", "save", "tube.obj", "--body", "phantom.obj", "-o", "belly.case.json", "--weights", "belly=1"]
        assert run([*words, "--strength", "0", "--note", "Skin shows.\nTwice."]) == 0
    return folder


@pytest.fixture
def folder(saved: Path, tmp_path: Path) -> Path:
    """A copy of that folder, to do with as one likes."""
    return shutil.copytree(saved, tmp_path / "case")


@pytest.fixture
def complaint(folder: Path) -> Path:
    return folder / "belly.case.json"


def changed(path: Path, **changes: Any) -> Path:
    """The case with some fields changed in its JSON."""
    tree = json.loads(path.read_text(encoding="utf-8"))
    tree.update(changes)
    path.write_text(json.dumps(tree), encoding="utf-8")
    return path


def test_a_saved_case_holds_what_was_measured(complaint: Path) -> None:
    case = read_case(complaint)
    assert case.shape.weights == {"belly": 1.0}
    assert case.garment.following.strength == 0.0
    assert case.place is not None
    assert (case.place.fault, case.place.severity) == ("exposed", "grave")
    assert case.place.height_mm == pytest.approx(1000.0, abs=60.0)
    assert case.faults["exposed"].severity == "grave"
    assert case.faults["exposed"].unit == "cm²"
    assert case.note == "Skin shows.\nTwice."
    assert case.png.startswith(PNG_START)
    assert case.view is not None
    assert np.linalg.norm(np.array(case.view.target_m) - np.array(case.place.position_m)) < 0.05


def test_a_case_that_is_replayed_at_once_is_still_wrong_by_the_same_figures(complaint: Path, dressform: Run) -> None:
    ended = dressform("case", "replay", complaint)
    assert ended.code == 1
    assert "Still wrong." in ended.out
    assert "is not the file" not in ended.out
    assert "was found at" not in ended.out
    (row,) = (line.split() for line in ended.out.splitlines() if line.startswith("skin shows  "))
    assert row[2] == row[5]
    assert row[4] == row[7] == "grave"
    assert "  Twice." in ended.out


def test_a_case_is_cured_by_a_garment_with_more_room_and_the_change_is_told(
    folder: Path, complaint: Path, dressform: Run
) -> None:
    write_obj(folder / "tube.obj", *tube(clearance=0.09))
    ended = dressform("case", "replay", complaint)
    assert ended.code == 0, ended.out
    assert "Cured." in ended.out
    assert "The garment is not the file that the case was saved with" in " ".join(ended.out.split())


def test_another_garment_and_body_can_be_named(folder: Path, complaint: Path, dressform: Run) -> None:
    write_obj(folder / "wide.obj", *tube(clearance=0.09))
    ended = dressform("case", "replay", complaint, "--garment", folder / "wide.obj", "--body", folder / "phantom.obj")
    assert ended.code == 0
    assert "Cured." in ended.out


def test_files_are_found_by_their_content_wherever_they_went(
    folder: Path, complaint: Path, tmp_path_factory: pytest.TempPathFactory, dressform: Run
) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (elsewhere / "files").mkdir()
    shutil.copy(complaint, elsewhere)
    shutil.move(folder / "tube.obj", elsewhere / "files" / "renamed.obj")
    shutil.move(folder / "phantom.obj", elsewhere / "phantom.obj")
    shutil.move(folder / "morphs", elsewhere / "morphs")
    ended = dressform("case", "replay", elsewhere / complaint.name)
    assert ended.code == 1, ended.err
    assert "The garment was found at" in ended.out
    assert "renamed.obj" in ended.out
    assert "another content" not in ended.out


def test_a_garment_that_is_nowhere_is_bad_input(folder: Path, complaint: Path, dressform: Run) -> None:
    (folder / "tube.obj").unlink()
    ended = dressform("case", "replay", complaint)
    assert ended.code == 2
    assert "garment: there is no" in ended.line
    assert "name it with --garment" in ended.line


def test_the_picture_shows_then_and_now_of_the_same_view(folder: Path, complaint: Path, dressform: Run) -> None:
    ended = dressform("case", "replay", complaint, "--picture", folder / "view.png")
    assert f"wrote {folder / 'view.png'}" in ended.out
    drawn = pixels(folder / "view.png")[60:]
    half = (drawn.shape[1] - 4) // 2
    then, now = drawn[:, :half], drawn[:, -half:]
    assert (np.abs(then - now).max(axis=2) > 60).mean() < 0.01
    orange = (then[..., 0] - then[..., 2] > 90).mean()
    assert orange > 0.02


def test_a_case_without_a_picture_shows_how_it_is(folder: Path, complaint: Path, dressform: Run) -> None:
    changed(complaint, picture="", view=None)
    dressform("case", "replay", complaint, "--picture", folder / "view.png")
    assert pixels(folder / "view.png").shape[1] == 560


def test_a_picture_that_cannot_be_decoded_is_bad_input(folder: Path, complaint: Path, dressform: Run) -> None:
    changed(complaint, picture=base64.b64encode(PNG_START + b"nothing").decode())
    ended = dressform("case", "replay", complaint, "--picture", folder / "view.png")
    assert ended.code == 2
    assert "a PNG that can be decoded" in ended.line
    assert not (folder / "view.png").exists()


def test_a_morph_that_the_body_lost_is_bad_input(complaint: Path, dressform: Run) -> None:
    changed(complaint, shape={"label": "paunch=1", "weights": {"paunch": 1.0}})
    ended = dressform("case", "replay", complaint)
    assert ended.code == 2
    assert "'paunch'" in ended.line
    assert "belly, girth, tall" in ended.line


def test_what_is_wrong_elsewhere_does_not_keep_a_case_open(complaint: Path, dressform: Run) -> None:
    case = read_case(complaint)
    place = Place(position_m=(0.0, 0.3, -0.16), fault="exposed", height_mm=300.0, severity="moderate")
    write_case(complaint, replaced(case, place=place))
    ended = dressform("case", "replay", complaint)
    assert ended.code == 0
    assert "nothing is wrong there" in ended.out


def test_without_a_place_the_whole_shape_is_judged(complaint: Path, dressform: Run) -> None:
    changed(complaint, place=None)
    assert "Something is moderate or grave at this shape." in dressform("case", "replay", complaint).out
    changed(complaint, shape={"label": "base", "weights": {}})
    ended = dressform("case", "replay", complaint)
    assert ended.code == 0
    assert "Nothing is moderate or grave" in ended.out


@pytest.mark.parametrize(
    ("then", "now", "wrong"),
    [
        ("grave", "grave", True),
        ("grave", "moderate", True),
        ("grave", "slight", False),
        ("slight", "slight", True),
        ("slight", "clean", False),
        ("", "moderate", True),
        ("", "slight", False),
    ],
)
def test_still_wrong_means_as_bad_as_then_or_plain(then: str, now: str, wrong: bool) -> None:
    assert still_wrong(then, now) is wrong


def test_cases_are_grouped_by_garment_place_and_cause(complaint: Path, dressform: Run) -> None:
    folder = complaint.parent / "complaints"
    (folder / "more").mkdir(parents=True)
    case = read_case(complaint)
    assert case.place is not None
    for number in range(3):
        write_case(folder / f"{number}.case.json", replaced(case, made=f"2026-11-2{number}T10:00:00+00:00"))
    blamed = replaced(case, cause="too tight by design", owner="the garment", note="")
    write_case(folder / "more" / "blamed.case.json", blamed)
    (folder / "broken.case.json").write_text("{", encoding="utf-8")
    ended = dressform("case", "list", folder)
    assert ended.code == 0
    assert "4 cases by garment, place and cause" in ended.out
    first, second = (line.split() for line in ended.out.splitlines() if line.startswith("tube"))
    assert first[first.index("–") + 1] == "3"
    assert "2026-11-22" in first
    assert "2.case.json:" in first
    assert "design" in second
    assert "broken.case.json" in ended.out
    assert "is not JSON" in ended.out


def test_a_folder_without_cases_says_so(tmp_path: Path, dressform: Run) -> None:
    ended = dressform("case", "list", tmp_path)
    assert ended.code == 0
    assert "No case in" in ended.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("list", "nowhere"), "is no folder"),
        (("replay", "nowhere.case.json"), "there is no such file"),
        (("save", "tube.obj", "--body", "phantom.obj", "-o", "case.txt"), "ending .case.json"),
        (("save", "tube.obj", "--body", "phantom.obj", "-o", "a.case.json", "--fault", "torn"), "got 'torn'"),
        (("save", "tube.obj", "--body", "phantom.obj", "-o", "a.case.json", "--weights", "paunch=1"), "'paunch'"),
    ],
)
def test_bad_words_end_with_two(
    folder: Path, words: tuple[str, ...], said: str, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    ended = dressform("case", *words)
    assert ended.code == 2
    assert said in ended.line


def test_a_repaired_garment_is_replayed_repaired(folder: Path, dressform: Run) -> None:
    write_obj(folder / "close.obj", *tube(clearance=0.004, rings=12, sides=20))
    figures = {}
    for name, options in (("lifted", ()), ("repaired", ("--repaired",))):
        path = folder / f"{name}.case.json"
        dressform(
            "case", "save", folder / "close.obj", "--body", folder / "phantom.obj", "-o", path,
            "--weights", "belly=1", *options,
        )  # fmt: skip
        figures[name] = read_case(path).faults["exposed"].value
    assert figures["lifted"] > 1.0
    assert figures["repaired"] < 0.2
    ended = dressform("case", "replay", folder / "repaired.case.json")
    assert read_case(folder / "repaired.case.json").garment.repaired
    assert ended.code in {0, 1}
    assert "skin shows" not in ended.out


def test_a_picture_with_too_many_pixels_is_not_decoded(
    folder: Path, complaint: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(replay, "MAX_PIXELS", 1000)
    ended = dressform("case", "replay", complaint, "--picture", folder / "view.png")
    assert ended.code == 2
    assert "560 × 700 pixels are more than 1,000" in ended.line


def test_a_folder_with_more_cases_than_are_read_says_so(
    folder: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copy(folder / "belly.case.json", folder / "again.case.json")
    monkeypatch.setattr(case_command, "MAX_CASES", 1)
    said = dressform("case", "list", folder).out
    assert "Only the first 1 of 2 cases were read." in said
    assert "1 case by garment" in said


def test_a_case_can_be_saved_where_nothing_is_wrong(folder: Path, dressform: Run) -> None:
    path = folder / "fine.case.json"
    ended = dressform("case", "save", folder / "tube.obj", "--body", folder / "phantom.obj", "-o", path)
    assert ended.code == 0
    case = read_case(path)
    assert (case.place, case.shape.label) == (None, "base")
    assert {one.severity for one in case.faults.values()} == {"clean"}


def test_a_case_can_be_about_another_fault_than_the_gravest(folder: Path, dressform: Run) -> None:
    path = folder / "ease.case.json"
    dressform(
        "case", "save", folder / "tube.obj", "--body", folder / "phantom.obj", "-o", path,
        "--weights", "belly=1", "--strength", "0", "--fault", "clearance",
    )  # fmt: skip
    case = read_case(path)
    assert case.place is not None
    assert case.place.fault == "clearance"
    assert case.place.unit == "mm"
    assert case.place.value < 0
