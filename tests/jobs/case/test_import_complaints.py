"""A list of complaints becomes cases; what cannot be meant is told with its line, and the others go on."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from dressform.body.body import Body
from dressform.errors import ArgumentError, FileError
from dressform.formats.case_file import read_case
from dressform.jobs.case.columns import number_of, pairs_of, read_columns
from dressform.jobs.case.import_complaints import ImportedComplaints, import_complaints
from dressform.jobs.load import load_body
from phantoms import phantom_files


@pytest.fixture(scope="module")
def worn(tmp_path_factory: pytest.TempPathFactory) -> tuple[Body, Path]:
    body, tube = phantom_files(tmp_path_factory.mktemp("worn"))
    return load_body(body), tube


def imported(worn: tuple[Body, Path], folder: Path, lines: Sequence[str], name: str = "list.csv") -> ImportedComplaints:
    path = folder / name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return import_complaints(path, folder / "cases", bodies=[worn[0]], garments=[worn[1]])


def test_a_row_becomes_a_case_that_holds_all_of_it(worn: tuple[Body, Path], tmp_path: Path) -> None:
    head = "Garment;Complaint;weights;where;stance;who;link;date;harbour"
    row = "Tube.OBJ;Skin shows.;belly=0,5, girth: 25 %;front;sitting;Ada;board/1;2026-09-02;Gull Rock"
    found = imported(worn, tmp_path, [head, row])
    (path,) = found.cases
    case = read_case(path)
    assert path.name == "list-0002.case.json"
    assert case.shape is not None
    assert case.shape.weights == {"belly": 0.5, "girth": 0.25}
    assert case.note == "Skin shows."
    told = case.complaint
    assert told is not None
    assert (told.source, told.line, told.where, told.stance) == ("list.csv", 2, "front", "sitting")
    assert (told.who, told.link, told.said) == ("Ada", "board/1", "2026-09-02")
    assert told.others == {"harbour": "Gull Rock"}
    assert found.columns == ("harbour",)
    assert case.garment.source.name == "tube"


def test_columns_named_as_morphs_and_as_tape_measures_are_the_shape(worn: tuple[Body, Path], tmp_path: Path) -> None:
    found = imported(worn, tmp_path, ["garment,note,belly,tall", "tube,a,0.5,", "tube,b,,"])
    shapes = [case.shape for case in found.cases.values()]
    assert shapes[0] is not None
    assert shapes[0].weights == {"belly": 0.5}
    assert shapes[1] is None
    assert "1 without a shape" in found.line
    columns = read_columns(["garment", "chest", "chest cm", "Waist_girth", "hip"], ["chest", "belly"])
    assert columns.weights == {"chest": "chest"}
    assert columns.tape == {"chest cm": "chest", "Waist_girth": "waist", "hip": "hip"}


def test_a_stature_by_tape_finds_the_shape_that_has_it(worn: tuple[Body, Path], tmp_path: Path) -> None:
    """The phantom is 170 cm tall and a tenth taller at `tall` 1: 178.5 cm is half of that."""
    found = imported(worn, tmp_path, ["garment,note,stature cm", "tube,a,178.5 cm"])
    (case,) = found.cases.values()
    assert case.shape is not None
    assert case.shape.weights["tall"] == pytest.approx(0.5, abs=0.02)
    assert case.complaint is not None
    assert case.complaint.tape_cm == {"stature": 178.5}


def test_a_tape_that_no_wearer_can_have_is_refused(worn: tuple[Body, Path], tmp_path: Path) -> None:
    found = imported(worn, tmp_path, ["garment,note,stature cm", "tube,a,9800", "tube,b,178.5"])
    assert [one.line for one in found.unread] == [2]
    assert "within reach of the body, got stature 9800 cm" in found.unread[0].reason


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("scarf,Gapes,", "must be one of tube, got 'scarf'"),
        ("tubee,Gapes,", "Perhaps 'tube' is meant"),
        ("tube,,", "an empty cell"),
        ("tube,Gapes,belly=much", "must be a number, got 'much'"),
        ("tube,Gapes,hat=1", "must be of the morphs belly, girth, tall, got 'hat'"),
        ("tube,Gapes,Bely=1", "Perhaps 'belly' is meant"),
        ("tube,Gapes,belly=900", "for belly"),
        ("tube,Gapes,belly", "must be NAME=NUMBER"),
        ('tube,Gapes,"belly=1,belly=0"', "'belly' twice"),
        (",Gapes,", "must be one of tube, got ''"),
    ],
)
def test_a_row_that_cannot_be_meant_is_told_and_the_next_is_read(
    worn: tuple[Body, Path], tmp_path: Path, row: str, words: str
) -> None:
    found = imported(worn, tmp_path, ["garment,note,weights", row, "tube,Skin shows,belly=1"])
    assert [one.line for one in found.unread] == [2]
    assert words in found.unread[0].reason
    assert [path.name for path in found.cases] == ["list-0003.case.json"]


def test_a_weight_outside_the_range_is_kept_and_said(worn: tuple[Body, Path], tmp_path: Path) -> None:
    found = imported(worn, tmp_path, ["garment,note,belly", "tube,Skin shows,1.5"])
    assert len(found.cases) == 1
    assert any(note.startswith("line 2: belly=1.5 lies outside the range [0, 1]") for note in found.notes)


def test_a_row_that_is_there_twice_is_read_once(worn: tuple[Body, Path], tmp_path: Path) -> None:
    found = imported(worn, tmp_path, ["garment,note", "tube,Gapes", "tube,Gapes", "tube,gapes"])
    assert found.doubled == {3: 2}
    assert len(found.cases) == 2


def test_a_list_that_says_not_which_garment_is_refused(worn: tuple[Body, Path], tmp_path: Path) -> None:
    with pytest.raises(FileError, match="Call one column garment and another one note"):
        imported(worn, tmp_path, ["what,said", "tube,Gapes"])


def test_nothing_is_written_where_no_row_can_be_read(worn: tuple[Body, Path], tmp_path: Path) -> None:
    found = imported(worn, tmp_path, ["garment,note", "scarf,Gapes"])
    assert not found.cases
    assert not (tmp_path / "cases").exists()


def test_numbers_are_read_as_people_write_them() -> None:
    written = ("0.8", "0,8", " 80 % ", "+0.8", ".8")
    assert [number_of(text, "belly") for text in written] == [pytest.approx(0.8)] * len(written)
    assert pairs_of("belly=1; hips: 0,5, age=50 %,", "weights") == {"belly": 1.0, "hips": 0.5, "age": 0.5}
    for text in ("", "one", "1e5", "1..2", "nan", "0x1"):
        with pytest.raises(ArgumentError, match="must be a number"):
            number_of(text, "belly")
