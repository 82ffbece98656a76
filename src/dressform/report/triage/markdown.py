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
from dressform.report.markdown import code_words, inert_words
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
                yield f"- **{kind}**: {inert_words(change.words)}"
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
        yield from (f"- {inert_words(words)}" for words in (*told.unread, *told.notes))


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


def _cells(one: TriageMatter) -> Sequence[str]:
    return (
        one.name,
        inert_words(", ".join(one.garments)),
        f"{FAULT_WORDS[one.fault]}, {inert_words(where(one.place))}",
        f"{one.severity}, {place_amount(one.place)}",
        str(one.people),
        str(one.complaints),
        (one.owner or "not known") if one.sure or not one.owner else f"probably {one.owner}",
    )


def _matter(told: StoredTriage, one: TriageMatter) -> Iterator[str]:
    yield f"## {inert_words(title(one))}"
    yield ""
    if one.picture:
        yield f"![{inert_words(title(one))}]({one.picture})"
        yield ""
    yield one.answer
    yield ""
    of = f"{counted(one.complaints, 'complaint')} of {one.people} people"
    yield f"Complaints: {of}; places: {inert_words(one.where)}."
    yield ""


def _case(case: TriageCase) -> Iterator[str]:
    named = [inert_words(case.who or ""), inert_words(case.link or "", keep_addresses=True)]
    by = f" ({' '.join(filter(None, named))})" if any(named) else ""
    note = f"“{inert_words(case.note or case.where)}”"
    matter = f"matter {case.matter}" if case.matter else ""
    said = [matter, inert_words(case.reason).rstrip("."), *map(inert_words, word_notes(case))]
    yield f"- {code_words(case.file)} {inert_words(case.garment)}{by}: {note} {'; '.join(filter(None, said))}"
    if case.answer:
        yield ""
        yield f"  > {inert_words(case.answer)}"
        yield ""
