"""What triage says of single words and of what it did not find."""

from collections.abc import Sequence

from dressform.faults.results import SEVERITIES
from dressform.faults.words import FAULT_WORDS, place_amount
from dressform.formats.results.triage_schema import TriageWord
from dressform.jobs.triage.match import BodyPlaces, FoundPlace, fits
from dressform.jobs.triage.words.hear import Heard, HeardWord
from dressform.jobs.triage.words.vocabulary import FAULT, PLACE, STANCE
from dressform.report.tables.check import where


def told_words(heard: Heard, found: FoundPlace | None, body: BodyPlaces) -> tuple[TriageWord, ...]:
    """The words of a note as records, each with whether what was found fits it."""
    told: dict[tuple[str, str], TriageWord] = {}
    for one in heard.words:
        kind, means = one.meaning.kind, one.meaning.means or (one.meaning.key,)
        matched = _is_matched(one, found, body)
        key = (one.text, kind)
        if key in told:  # a word with two meanings fits where one of them does
            before = told[key]
            means, matched = tuple(dict.fromkeys((*before.means, *means))), matched or before.matched
        told[key] = TriageWord(
            text=one.text, kind=kind, means=means, denied=one.denied, read_as=one.read_as, matched=matched
        )
    return tuple(told.values())


def not_found_reason(heard: Heard, places: Sequence[FoundPlace], body: BodyPlaces) -> str:
    """Why nothing fits a note, and what comes nearest: the same fault elsewhere, else another one at that place."""
    faults, spots = heard.said(FAULT), heard.said(PLACE)
    same = [one for one in places if any(fits(word, one, body) for word in faults)]
    there = [one for one in places if any(fits(word, one, body) for word in spots)]
    if faults and spots and same:
        return f"Nothing like that is seen at the {_texts(spots)}; {place_words(_gravest(same))} is."
    if spots and there:
        return f"At the {_texts(spots)} no such fault is seen; {place_words(_gravest(there))} is."
    if places:
        return f"No such fault is seen; the gravest that is: {place_words(_gravest(places))}."
    return "No fault at all is seen."


def place_words(found: FoundPlace) -> str:
    """`skin shows (grave, 36.6 cm²) at belly, front left`."""
    place = found.place
    return f"{FAULT_WORDS[place.fault]} ({place.severity}, {place_amount(place)}) at {where(place)}"


def _is_matched(word: HeardWord, found: FoundPlace | None, body: BodyPlaces) -> bool:
    if word.meaning.kind == STANCE:
        return found is not None and found.row is not None and found.row.stance is not None
    is_there = found is not None and fits(word, found, body)
    return not is_there if word.denied else is_there


def _gravest(places: Sequence[FoundPlace]) -> FoundPlace:
    return max(places, key=lambda one: (SEVERITIES.index(one.place.severity), one.place.area_cm2))


def _texts(words: Sequence[HeardWord]) -> str:
    return " or ".join(dict.fromkeys(one.read_as or one.text for one in words))
