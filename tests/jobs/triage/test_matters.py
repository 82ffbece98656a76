"""Complaints of one garment and action are one matter, of one morph over garments too; the gravest come first."""

from typing import Any

from dressform.causes.results import BODY, GARMENT, RIGID_PATCH, TOO_TIGHT
from dressform.faults.results import Place
from dressform.formats.results.triage_schema import FOUND, NOT_FOUND
from dressform.jobs.triage.matters import Complaint, merged
from dressform.jobs.triage.records import CausedCase, SeenCase


def complaint(number: int, *, garment: str = "guernsey", key: str = "action A", who: str = "", severity: str = "grave",
              owner: str = GARMENT, cause: str = TOO_TIGHT, subject: str = "", share: float = 0.9, vague: bool = False,
              outcome: Any = FOUND, caused: bool = True) -> Complaint:  # fmt: skip
    place = Place(position_m=(0, 1, 0), region="belly", fault="exposed", severity=severity, value=9.0, unit="cm²")
    seen = SeenCase(outcome, (), place, "belly=1", (1.0,), "", vague)
    told = CausedCase(key, subject, "belly", cause, owner, share) if caused else None
    return Complaint(f"{number}.case.json", garment, f"{garment} on woman", "woman", who, ("belly",), seen, told)


def files(found: list) -> list[tuple[str, ...]]:
    return [tuple(file.removesuffix(".case.json") for file in matter.cases) for matter, _ in found]


def test_one_garment_and_action_is_one_matter_and_another_action_another() -> None:
    found = merged([complaint(1), complaint(2), complaint(3, key="action B"), complaint(4, garment="coat")])
    assert sorted(files(found)) == [("1", "2"), ("3",), ("4",)]


def test_one_morph_of_the_body_is_one_matter_over_garments() -> None:
    body = {"owner": BODY, "cause": RIGID_PATCH, "subject": "patch"}
    found = merged([complaint(1, **body), complaint(2, garment="coat", **body), complaint(3, subject="patch")])
    assert sorted(files(found)) == [("1", "2"), ("3",)]
    assert found[0][0].garments == ("guernsey", "coat")


def test_many_light_complaints_come_before_one_that_is_grave_if_they_are_more_than_its_weight() -> None:
    light = [complaint(number, who=f"keeper {number}", severity="slight") for number in range(10)]
    found = merged([complaint(20, garment="coat"), *light])
    assert [matter.rank for matter, _ in found] == [10.0, 9.0]
    assert [matter.name for matter, _ in found] == ["1", "2"]


def test_who_says_it_twice_counts_once_and_the_nameless_each() -> None:
    (pair,) = merged([complaint(1, who="Ada  Brack"), complaint(2, who="ada brack"), complaint(3), complaint(4)])
    assert (pair[0].complaints, pair[0].people) == (4, 3)


def test_a_matter_is_sure_only_where_a_note_names_what_was_found_and_the_cause_carries_half() -> None:
    def sure(*members: Complaint) -> bool:
        return merged(members)[0][0].sure

    assert sure(complaint(1))
    assert not sure(complaint(1, vague=True))
    assert sure(complaint(1, vague=True), complaint(2))
    assert not sure(complaint(1, share=0.49))
    assert not sure(complaint(1, cause="", owner=""))


def test_what_was_not_found_is_no_matter_and_what_has_no_cause_is_one_by_its_place() -> None:
    assert merged([complaint(1, outcome=NOT_FOUND)]) == []
    found = merged([complaint(1, caused=False), complaint(2, caused=False)])
    assert files(found) == [("1", "2")]
    assert found[0][0].owner == ""
