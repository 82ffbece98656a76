"""Lists of complaints are read in every dialect of CSV and as JSON lines; a broken row costs itself alone."""

from pathlib import Path

import pytest

from dressform.errors import FileError
from dressform.formats import complaints_file
from dressform.formats.complaints_file import read_complaints

ROWS = [{"garment": "oilskin", "note": "Gapes, a lot."}, {"garment": "gilet", "note": "Très serré"}]


def written(path: Path, text: str, encoding: str = "utf-8") -> Path:
    path.write_bytes(text.encode(encoding))
    return path


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_every_dialect_gives_the_same_rows(tmp_path: Path, delimiter: str, ends: str, encoding: str) -> None:
    lines = ["garment#note", 'oilskin#"Gapes, a lot."', "", "gilet#Très serré", "", ""]
    found = read_complaints(written(tmp_path / "list.csv", ends.join(lines).replace("#", delimiter), encoding))
    assert [row.cells for row in found.rows] == ROWS
    assert [row.line for row in found.rows] == [2, 4]
    assert found.unread == ()
    assert bool(found.notes) is (encoding == "cp1252")


def test_json_lines_give_the_same_rows_and_objects_within_them_pairs(tmp_path: Path) -> None:
    text = (
        '{"garment": "oilskin", "note": "Gapes, a lot.", "weights": {"belly": 0.5, "hips": 1}, "said": null}\n\n[1]\n{'
    )
    found = read_complaints(written(tmp_path / "list.jsonl", text))
    assert found.rows[0].cells == {**ROWS[0], "weights": "belly=0.5, hips=1"}
    assert [(row.line, row.reason.split(":")[0].split(". ")[0]) for row in found.unread] == [
        (3, "is a JSON list"),
        (4, "is no JSON"),
    ]


def test_a_note_over_several_lines_is_one_row_and_the_next_is_told_by_its_own_line(tmp_path: Path) -> None:
    text = 'garment,note\noilskin,"One.\n\nTwo, ""quoted""."\ngilet,Three\n'
    found = read_complaints(written(tmp_path / "list.csv", text))
    assert [(row.line, row.cells["note"]) for row in found.rows] == [(2, 'One.\n\nTwo, "quoted".'), (5, "Three")]


def test_a_quote_that_is_never_closed_costs_its_own_line_alone(tmp_path: Path) -> None:
    text = 'garment,note\noilskin,"Gapes\n' + "gilet,Fine\n" * 250
    found = read_complaints(written(tmp_path / "list.csv", text))
    assert [row.line for row in found.unread] == [2]
    assert "never closed" in found.unread[0].reason
    assert len(found.rows) == 250


def test_more_cells_than_columns_are_told_with_what_to_do(tmp_path: Path) -> None:
    found = read_complaints(written(tmp_path / "list.csv", "garment,note\noilskin,Gapes, a lot\ngilet,Fine,,\n"))
    assert [(row.line, "3 cells under 2 columns" in row.reason) for row in found.unread] == [(2, True)]
    assert [row.cells["note"] for row in found.rows] == ["Fine"]


def test_of_two_columns_of_one_name_the_first_counts_and_the_other_is_kept(tmp_path: Path) -> None:
    found = read_complaints(written(tmp_path / "list.csv", "garment,note,note,\noilskin,One,Two,\n"))
    assert found.rows[0].cells == {"garment": "oilskin", "note": "One", "note (2)": "Two"}
    assert any("Two columns are called 'note'" in note for note in found.notes)


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("list.xls", "a,b\n", "ends with .xls"),
        ("list.csv", "", "is empty"),
        ("list.csv", "garment\noilskin\n", "names 1 column"),
        ("list.csv", "garment,note\n\0\n", "null bytes"),
    ],
)
def test_what_is_no_list_is_refused_with_its_reason(tmp_path: Path, name: str, text: str, words: str) -> None:
    with pytest.raises(FileError, match=words):
        read_complaints(written(tmp_path / name, text))


def test_a_list_of_too_many_rows_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(complaints_file, "MAX_ROWS", 2)
    with pytest.raises(FileError, match="more than 2 rows"):
        read_complaints(written(tmp_path / "list.csv", "garment,note\n" + "a,b\n" * 3))
