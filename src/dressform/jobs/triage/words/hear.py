"""What a note says: words of faults, places, sides, parts and stances; denied ones apart, misspelt ones corrected."""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from dressform.jobs.triage.words.spelling import meant, stem
from dressform.jobs.triage.words.vocabulary import PLAIN, Meaning, Vocabulary, vocabulary

REACH = 4
"""A denial reaches at most so many words on, and never past the end of a clause."""
SHORT = {"n't": " not", "'ve": " have", "'re": " are", "'ll": " will", "'m": " am"}
_TOKENS = re.compile(r"[a-z0-9]+|[.,;:!?()\-]")
_ENDS = frozenset(".,;:!?()-")
_TURNS = frozenset({"but", "though", "however", "except", "only", "just", "yet", "still"})


@dataclass(frozen=True)
class HeardWord:
    """A word or phrase of a note that the vocabulary knows.

    Attributes:
        text: As it was written.
        meaning: What it stands for.
        denied: Whether the note says that it is not so.
        read_as: The word that a misspelt one was taken for; empty where it was written right.
    """

    text: str
    meaning: Meaning
    denied: bool = False
    read_as: str = ""


@dataclass(frozen=True)
class Heard:
    """What a note says.

    Attributes:
        words: Its known words in their order; one that has two meanings comes twice.
    """

    words: tuple[HeardWord, ...]

    def said(self, kind: str) -> tuple[HeardWord, ...]:
        """Words of one kind that are not denied."""
        return tuple(one for one in self.words if one.meaning.kind == kind and not one.denied)

    def denied(self, kind: str) -> tuple[HeardWord, ...]:
        """Words of one kind that are denied."""
        return tuple(one for one in self.words if one.meaning.kind == kind and one.denied)


def hear(text: str, *, known: Vocabulary | None = None) -> Heard:
    """Read a note by the vocabulary.

    Of phrases that overlap the longest counts, of equally long ones the first. A denial (`no`, `not`, `never`,
    `without`) reaches the known words within four words after it, in its own clause; `is fine` and the like deny what
    their clause said before.

    Args:
        text: What the person wrote.
        known: Another vocabulary.

    Proof: tests/jobs/triage/test_hear.py
    """
    words = known or vocabulary()
    tokens = _tokens(text)
    found: list[HeardWord] = []
    for clause in _clauses(tokens):
        found += _heard(clause, words)
    return Heard(tuple(found))


def _tokens(text: str) -> list[str]:
    bare = "".join(one for one in unicodedata.normalize("NFKD", text) if not unicodedata.combining(one))
    bare = bare.lower().replace("’", "'").replace("can't", "cannot").replace("won't", "will not")
    for short, long in SHORT.items():
        bare = bare.replace(short, long)
    return _TOKENS.findall(bare.replace("'s ", " ").replace("'", " "))


def _clauses(tokens: Sequence[str]) -> Iterator[list[str]]:
    """The tokens cut at stops and at words such as `but`."""
    clause: list[str] = []
    for token in tokens:
        if token in _ENDS or token in _TURNS:
            yield clause
            clause = []
        if token not in _ENDS:
            clause.append(token)
    yield clause


def _heard(clause: Sequence[str], known: Vocabulary) -> list[HeardWord]:
    corrected = [_corrected(token, known) for token in clause]
    stems = [token if token in known.apart else stem(read or token) for token, read in zip(clause, corrected)]
    denies = _denials(clause, stems, known)
    found: list[HeardWord] = []
    at, reach = 0, -1
    ended = any(_stands(stems, phrase) is not None for phrase in known.denials)
    while at < len(clause):
        size = _longest(stems, at, known)
        if size:
            phrase = tuple(stems[at : at + size])
            text = " ".join(clause[at : at + size])
            read = " ".join(corrected[at + i] or clause[at + i] for i in range(size))
            denied = (at <= reach or ended) and not any(at <= deny < at + size for deny in denies)
            found += [
                HeardWord(text, meaning, denied, read if read != text else "") for meaning in known.phrases[phrase]
            ]
            at += size
            continue
        if at in denies:
            reach = at + REACH
        at += 1
    return found


def _denials(clause: Sequence[str], stems: Sequence[str], known: Vocabulary) -> set[int]:
    """Where words stand that deny; those of phrases that only look so apart."""
    apart = {
        at + i
        for phrase in known.no_denials
        for at in range(len(stems))
        if tuple(stems[at : at + len(phrase)]) == phrase
        for i in range(len(phrase))
    }
    return {at for at, token in enumerate(clause) if token in known.negations and at not in apart}


def _stands(stems: Sequence[str], phrase: Sequence[str]) -> int | None:
    """Where a phrase begins, or None."""
    spans = range(len(stems) - len(phrase) + 1)
    return next((at for at in spans if tuple(stems[at : at + len(phrase)]) == tuple(phrase)), None)


def _longest(stems: Sequence[str], at: int, known: Vocabulary) -> int:
    """Words of the longest known phrase that begins here; 0 where none does."""
    for size in range(min(known.longest, len(stems) - at), 0, -1):
        if tuple(stems[at : at + size]) in known.phrases:
            return size
    return 0


def _corrected(token: str, known: Vocabulary) -> str:
    """The word that a misspelt one is meant to be; empty where it is known, ordinary or like none."""
    if token in known.ordinary or token in known.negations or len(token) < 4 or not token.isalpha():
        return ""
    if (stem(token),) in known.phrases or any(stem(token) in phrase for phrase in known.phrases):
        return ""
    return meant(token, known.known) or ""


def is_vague(heard: Heard) -> bool:
    """Whether a note names neither a fault, nor a place, nor a part."""
    return not any(heard.said(kind) for kind in ("fault", "place", "part"))


def plain_words(heard: Heard) -> tuple[str, ...]:
    """Words that say no more than that something is wrong."""
    return tuple(one.text for one in heard.words if one.meaning.kind == PLAIN)
