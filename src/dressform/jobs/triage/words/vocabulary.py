"""The vocabulary: ordinary words, and the faults, places, sides, parts and stances that they stand for."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import msgspec

from dressform.jobs.triage.words.spelling import stem

FILE = "vocabulary.toml"
FAULT, PLACE, SIDE, PART, STANCE, PLAIN = "fault", "place", "side", "part", "stance", "plain"
KINDS = (FAULT, PLACE, SIDE, PART, STANCE)

Phrase = tuple[str, ...]


@dataclass(frozen=True)
class Meaning:
    """What a word or phrase stands for.

    Attributes:
        kind: One of `KINDS`, or `PLAIN` for what only says that something is wrong.
        key: Its name in the vocabulary.
        means: Faults, regions, names of parts, or beginnings of the names of stances.
        sign: 1 where only cloth that moved away is meant, -1 where only cloth that came nearer, else 0.
        heights: Band of height, shares of stature, of a place on a body that names no regions.
        near: How near to where two of the regions meet the place is, metres; 0 for anywhere in them.
        side: A side that a place word may mean instead: `the back` is a region and a side.
    """

    kind: str
    key: str
    means: tuple[str, ...]
    sign: int = 0
    heights: tuple[float, float] = (0.0, 0.0)
    near: float = 0.0
    side: str = ""


@dataclass(frozen=True)
class Vocabulary:
    """All words, by what their stems are.

    Attributes:
        phrases: Meaning by phrase, as stems.
        longest: Words of the longest phrase.
        known: Single words as they stand, to correct misspelt ones by.
        ordinary: Words that are never corrected.
        apart: Words that have the stem of a known one and nothing to do with it.
        negations: Words that deny what comes after them.
        denials: Phrases, as stems, that deny what comes before them.
        no_denials: Phrases that only look like a denial.
    """

    phrases: Mapping[Phrase, tuple[Meaning, ...]]
    longest: int
    known: tuple[str, ...]
    ordinary: frozenset[str]
    apart: frozenset[str]
    negations: frozenset[str]
    denials: tuple[Phrase, ...]
    no_denials: tuple[Phrase, ...]


class _VocabularyEntry(msgspec.Struct, forbid_unknown_fields=True):
    words: list[str]
    means: list[str] = []
    regions: list[str] = []
    names: list[str] = []
    sign: int = 0
    heights: tuple[float, float] = (0.0, 0.0)
    near: float = 0.0
    side: str = ""


class _Negation(msgspec.Struct, forbid_unknown_fields=True):
    words: list[str]
    before: list[str]
    after: list[str]
    never: list[str]


class _Spelling(msgspec.Struct, forbid_unknown_fields=True):
    ordinary: list[str]
    apart: list[str]


class _VocabularyFile(msgspec.Struct, forbid_unknown_fields=True):
    fault: dict[str, _VocabularyEntry]
    place: dict[str, _VocabularyEntry]
    side: dict[str, _VocabularyEntry]
    part: dict[str, _VocabularyEntry]
    stance: dict[str, _VocabularyEntry]
    plain: _VocabularyEntry
    negation: _Negation
    spelling: _Spelling


@cache
def vocabulary() -> Vocabulary:
    """The vocabulary that ships with the package."""
    tree = tomllib.loads(files("dressform.jobs.triage.words").joinpath(FILE).read_text(encoding="utf-8"))
    told = msgspec.convert(tree, _VocabularyFile)
    phrases: dict[Phrase, tuple[Meaning, ...]] = {}
    singles: dict[str, None] = {}
    for meaning, words in _meanings(told):
        for word in words:
            parts = tuple(word.split())
            phrase = tuple(stem(part) for part in parts)
            phrases[phrase] = (*phrases.get(phrase, ()), meaning)
            if len(parts) == 1 and meaning.kind not in (STANCE, PLAIN):  # `first` is no slip of `fist`
                singles[word] = None
    return Vocabulary(
        phrases,
        max(len(phrase) for phrase in phrases),
        tuple(singles),
        frozenset((*told.spelling.ordinary, *told.spelling.apart)),
        frozenset(told.spelling.apart),
        frozenset(told.negation.before),
        _stems(told.negation.after),
        _stems(told.negation.never),
    )


SHOWN = 6
"""So many words of each kind of fault are told in the glossary."""


@cache
def words_of_faults() -> Mapping[str, tuple[str, ...]]:
    """What wearers call each fault, by its name: the first words of every entry that means it."""
    tree = tomllib.loads(files("dressform.jobs.triage.words").joinpath(FILE).read_text(encoding="utf-8"))
    found: dict[str, tuple[str, ...]] = {}
    for entry in msgspec.convert(tree, _VocabularyFile).fault.values():
        for fault in entry.means:
            found[fault] = tuple(dict.fromkeys((*found.get(fault, ()), *entry.words[:SHOWN])))
    return found


def _meanings(told: _VocabularyFile) -> Iterable[tuple[Meaning, list[str]]]:
    for kind in KINDS:
        entries: dict[str, _VocabularyEntry] = getattr(told, kind)
        for key, one in entries.items():
            means = tuple(one.means or one.regions or one.names or [key])
            yield Meaning(kind, key, means, one.sign, one.heights, one.near, one.side), one.words
    yield Meaning(PLAIN, PLAIN, ()), told.plain.words


def _stems(phrases: Iterable[str]) -> tuple[Phrase, ...]:
    return tuple(tuple(stem(part) for part in phrase.split()) for phrase in phrases)
