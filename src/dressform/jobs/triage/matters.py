"""Merging: complaints that are one matter, ranked by how many complain times how grave it is."""

from collections.abc import Sequence
from dataclasses import dataclass

from msgspec.structs import replace

from dressform.causes.results import BODY
from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES
from dressform.formats.results.triage_schema import ELSEWHERE, FOUND, TriageMatter
from dressform.jobs.triage.records import CausedCase, SeenCase

WEIGHTS = {"clean": 0, "slight": 1, "moderate": 3, "grave": 9}
"""How much one complaint counts by its severity: common practice, no source."""
SURE = 0.5
"""A cause that carries at least this share of a fault is told as sure."""
Key = tuple[str, ...]


@dataclass(frozen=True)
class Complaint:
    """A complaint that found something.

    Attributes:
        file: Its file.
        garment: Name of the garment.
        group: Key of its garment on its body.
        body: Name of the base body.
        who: Who said it, or empty.
        names: Names of morphs, to tell the weights by.
        seen: What was found.
        caused: Why it is there, or None.
    """

    file: str
    garment: str
    group: str
    body: str
    who: str
    names: tuple[str, ...]
    seen: SeenCase
    caused: CausedCase | None

    @property
    def sure(self) -> bool:
        """Whether the note names what was found, and its cause carries at least half of it."""
        caused = self.caused
        return not self.seen.vague and caused is not None and bool(caused.cause) and caused.share >= SURE


def merged(complaints: Sequence[Complaint]) -> list[tuple[TriageMatter, str]]:
    """The matters, the first to see to first, each with the key of its picture: `group` and the key within it.

    Complaints of one garment with one action are one matter; without an action, those of one place. Where the body's
    morph is the cause, complaints of several garments about one morph are one.

    Proof: tests/jobs/triage/test_matters.py
    """
    groups: dict[Key, list[Complaint]] = {}
    for one in complaints:
        if one.seen.place is not None and one.seen.outcome in (FOUND, ELSEWHERE):
            groups.setdefault(_key(one), []).append(one)
    made = [_matter(members) for members in groups.values()]
    made.sort(key=lambda pair: (-pair[0].rank, -pair[0].complaints, pair[0].garments, pair[0].where))
    return [(replace(matter, name=str(number)), picture) for number, (matter, picture) in enumerate(made, start=1)]


def _key(one: Complaint) -> Key:
    caused = one.caused
    if caused is None:
        place = one.seen.place
        assert place is not None
        return "place", one.group, place.fault, place.region or place.part
    if caused.owner == BODY and caused.subject:
        return "body", one.body, caused.cause, caused.subject
    return "garment", one.group, caused.key


def _matter(members: Sequence[Complaint]) -> tuple[TriageMatter, str]:
    worst = max(members, key=_gravity)
    caused = worst.caused
    place = worst.seen.place
    assert place is not None
    people = _people(members)
    weights = {name: value for name, value in zip(worst.names, worst.seen.weights) if value}
    wheres = dict.fromkeys(one.caused.where if one.caused else "" for one in members)
    matter = TriageMatter(
        name="",
        garments=tuple(dict.fromkeys(one.garment for one in members)),
        body=worst.body,
        fault=place.fault,
        where="; ".join(where for where in wheres if where),
        place=place,
        shape=worst.seen.label,
        weights=weights,
        stance=worst.seen.stance,
        severity=place.severity,
        cause="" if caused is None else caused.cause,
        owner="" if caused is None else caused.owner,
        share=0.0 if caused is None else min(1.0, max(0.0, caused.share)),
        sure=any(one.sure for one in members),
        because="" if caused is None else caused.because,
        remedies=() if caused is None else caused.remedies,
        tried="" if caused is None else caused.tried,
        complaints=len(members),
        people=people,
        rank=float(people * WEIGHTS[place.severity]),
        cases=tuple(one.file for one in members),
        picture="",
        answer="",
    )
    return matter, f"{worst.group}|{'' if caused is None else caused.key}"


def _people(members: Sequence[Complaint]) -> int:
    """How many people complain: each name once, and each complaint without one."""
    named = {" ".join(one.who.lower().split()) for one in members if one.who.strip()}
    return len(named) + sum(not one.who.strip() for one in members)


def _gravity(one: Complaint) -> tuple[int, float, str]:
    place = one.seen.place
    assert place is not None
    return SEVERITIES.index(place.severity), FAULT_OF[place.fault].visible * place.area_cm2, one.file
