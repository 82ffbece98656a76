"""Over versions a matter is cured, still there, worse or new; where nobody measured again nothing is said."""

from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from dressform.errors import FileError
from dressform.faults.results import Place
from dressform.formats.results.record import json_text
from dressform.formats.results.triage_schema import FAILED, FOUND, NOT_FOUND, StoredTriage, TriageCase, TriageMatter
from dressform.jobs.triage.against import changes_since, read_triage
from dressform.report.triage.answers import release_note


def matter(name: str, *cases: str, value: float = 9.0, severity: str = "grave", fault: str = "exposed") -> TriageMatter:
    place = Place(position_m=(0, 1, 0), region="belly", fault=fault, severity=severity, value=value, unit="cm²")
    return TriageMatter(
        name=name, garments=("guernsey",), body="woman", fault=fault, where="belly", place=place, shape="belly=1",
        weights={"belly": 1.0}, stance="", severity=severity, cause="too tight by design", owner="the garment",
        share=0.9, sure=True, because="", remedies=(), tried="", complaints=len(cases), people=len(cases), rank=9.0,
        cases=cases, picture="", answer="",
    )  # fmt: skip


def case(file: str, outcome: Any = FOUND) -> TriageCase:
    return TriageCase(
        file=file, sha256="", garment="guernsey", body="woman", method="smooth", note="", where="", known_by="weights",
        shape="", weights={}, stance="", outcome=outcome,
    )  # fmt: skip


def before(*matters: TriageMatter) -> StoredTriage:
    return StoredTriage(made="2026-09-01", versions={}, garments={}, bodies={}, matters=matters, cases=())


def kinds(old: StoredTriage, new: list[TriageMatter], cases: list[TriageCase]) -> list[tuple[str, str, str]]:
    return [(one.kind, one.before, one.after) for one in changes_since(old, new, cases)]


def test_a_matter_none_of_whose_complaints_is_found_any_more_is_cured() -> None:
    assert kinds(before(matter("1", "a", "b")), [], [case("a", NOT_FOUND), case("b", NOT_FOUND)]) == [
        ("cured", "1", "")
    ]


def test_a_matter_of_which_nothing_was_measured_again_is_not_called_cured() -> None:
    assert kinds(before(matter("1", "a")), [], []) == [("not judged", "1", "")]
    assert kinds(before(matter("1", "a")), [], [case("a", FAILED)]) == [("not judged", "1", "")]


@pytest.mark.parametrize(
    ("now", "kind"),
    [
        (matter("2", "a", value=9.2), "still there"),
        (matter("2", "a", value=9.9), "worse"),
        (matter("2", "a", value=2.0, severity="moderate"), "still there"),
        (matter("2", "a", value=99.0, fault="pucker"), "still there"),
    ],
)
def test_a_matter_goes_on_in_the_one_that_has_its_complaints(now: TriageMatter, kind: str) -> None:
    assert kinds(before(matter("1", "a")), [now], [case("a")]) == [(kind, "1", "2")]


def test_a_graver_band_is_worse_even_of_another_fault() -> None:
    old = before(matter("1", "a", severity="slight", fault="pucker"))
    assert kinds(old, [matter("1", "a")], [case("a")]) == [("worse", "1", "1")]


def test_a_matter_that_no_earlier_one_leads_to_is_new_and_the_note_tells_all_of_them() -> None:
    old = before(matter("1", "a"), matter("2", "b"))
    now = [matter("1", "b"), matter("2", "c")]
    changes = changes_since(old, now, [case("a", NOT_FOUND), case("b"), case("c")])
    assert [one.kind for one in changes] == ["cured", "still there", "new"]
    note = release_note(changes, now)
    assert [line for line in note.splitlines() if line.startswith("## ")] == [
        "## Mended",
        "## Not mended yet",
        "## Newly heard of",
    ]
    assert "it was grave, 9 cm²; it is not found any more." in note


def test_a_triage_is_read_back_as_it_was_written(tmp_path: Path) -> None:
    told = replace(before(matter("1", "a")), cases=(case("a"),))
    path = tmp_path / "triage.json"
    path.write_text(json_text(told), encoding="utf-8")
    assert read_triage(path) == told


@pytest.mark.parametrize(
    ("text", "words"),
    [("{", "is not JSON"), ('{"schema": "dressform-results/9"}', "is no dressform-triage/1"), ("[]", "xpected")],
)
def test_what_is_no_triage_is_refused(tmp_path: Path, text: str, words: str) -> None:
    (tmp_path / "old.json").write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=words):
        read_triage(tmp_path / "old.json")
