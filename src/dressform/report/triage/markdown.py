"""A triage as Markdown: the matters with their drafted answers, then every complaint."""

from collections.abc import Iterator, Sequence

from dressform.faults.words import FAULT_WORDS, place_amount
from dressform.formats.results.triage_schema import (
    CURED,
    ELSEWHERE,
    FAILED,
    FOUND,
    NEW,
    NOT_FOUND,
    STILL,
    UNCLEAR,
    UNJUDGED,
    WORSE,
    StoredTriage,
    TriageCase,
    TriageMatter,
)
from dressform.report.tables.check import where
from dressform.units import counted

OUTCOMES = {
    FOUND: "Found",
    ELSEWHERE: "Not at the shape that was told, but elsewhere in the range",
    NOT_FOUND: "Not found",
    UNCLEAR: "Too vague to look for",
    FAILED: "Could not be measured",
}
"""Headings of the complaints by their outcome."""
CHANGES = (CURED, WORSE, STILL, NEW, UNJUDGED)
SIGNS = str.maketrans({one: f"\\{one}" for one in "\\`*_{}[]<>#|"})


def triage_markdown(told: StoredTriage, *, glossary: str = "") -> str:
    """The whole triage.

    Args:
        told: The triage.
        glossary: Where the glossary is, to be linked.
    """
    return "\n".join(_lines(told, glossary)).rstrip() + "\n"


def _lines(told: StoredTriage, glossary: str) -> Iterator[str]:
    yield f"# {headline(told)}"
    yield ""
    if glossary:
        yield f"What the words mean, with a picture of each fault: [glossary]({glossary})."
        yield ""
    if told.matters:
        yield "| matter | garment | fault | verdict | people | complaints | whose it is |"
        yield "|---|---|---|---|---:|---:|---|"
        for one in told.matters:
            yield "| " + " | ".join(_cells(one)) + " |"
        yield ""
    if told.changes:
        yield "## Since the last triage"
        yield ""
        for kind in CHANGES:
            for change in (change for change in told.changes if change.kind == kind):
                yield f"- **{kind}**: {escaped(change.words)}"
        yield ""
    for one in told.matters:
        yield from _matter(told, one)
    for outcome, heading in OUTCOMES.items():
        cases = told.of(outcome)
        if cases:
            yield f"## {heading}: {counted(len(cases), 'complaint')}"
            yield ""
            for case in cases:
                yield from _case(case)
            yield ""
    if told.unread or told.notes:
        yield "## What could not be done"
        yield ""
        yield from (f"- {escaped(words)}" for words in (*told.unread, *told.notes))


def headline(told: StoredTriage) -> str:
    """The triage in one line."""
    return f"{counted(len(told.cases), 'complaint')}, {counted(len(told.matters), 'matter')}"


def title(matter: TriageMatter) -> str:
    """A matter in one line."""
    return f"{matter.name}. {' and '.join(matter.garments)}: {FAULT_WORDS[matter.fault]}, {where(matter.place)}"


def word_notes(case: TriageCase) -> list[str]:
    """What was made of the words of a note: what nothing fits, what was read as another word."""
    notes = []
    lost = [one.text for one in case.words if not (one.matched or one.denied or one.kind == "plain")]
    if lost and case.outcome in (FOUND, ELSEWHERE):
        notes.append(f"nothing found fits: {', '.join(lost)}")
    read = dict.fromkeys(f"{one.text} as {one.read_as}" for one in case.words if one.read_as)
    if read:
        notes.append(f"read {', '.join(read)}")
    return notes


def escaped(words: str) -> str:
    """Text in which no sign means anything to Markdown."""
    return " ".join(words.translate(SIGNS).split())


def _cells(one: TriageMatter) -> Sequence[str]:
    return (
        one.name,
        escaped(", ".join(one.garments)),
        f"{FAULT_WORDS[one.fault]}, {escaped(where(one.place))}",
        f"{one.severity}, {place_amount(one.place)}",
        str(one.people),
        str(one.complaints),
        (one.owner or "not known") if one.sure or not one.owner else f"probably {one.owner}",
    )


def _matter(told: StoredTriage, one: TriageMatter) -> Iterator[str]:
    yield f"## {escaped(title(one))}"
    yield ""
    if one.picture:
        yield f"![{escaped(title(one))}]({one.picture})"
        yield ""
    yield one.answer
    yield ""
    yield f"Complaints: {counted(one.complaints, 'complaint')} of {one.people} people; places: {escaped(one.where)}."
    yield ""


def _case(case: TriageCase) -> Iterator[str]:
    by = f" ({escaped(' '.join(filter(None, (case.who, case.link))))})" if case.who or case.link else ""
    note = f"“{escaped(case.note or case.where)}”"
    matter = f"matter {case.matter}" if case.matter else ""
    said = [matter, escaped(case.reason).rstrip("."), *map(escaped, word_notes(case))]
    yield f"- `{case.file}` {escaped(case.garment)}{by}: {note} {'; '.join(filter(None, said))}"
    if case.answer:
        yield ""
        yield f"  > {escaped(case.answer)}"
        yield ""
