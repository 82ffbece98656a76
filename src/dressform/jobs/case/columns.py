"""What the columns of a list of complaints mean: their names in the many ways in which people write them."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from dressform.body.measure import MEASURE_NAMES
from dressform.errors import ArgumentError

NAMES: Mapping[str, tuple[str, ...]] = {
    "garment": ("garment", "item", "piece", "clothing", "clothes", "article"),
    "note": ("note", "complaint", "comment", "message", "text", "description", "words"),
    "weights": ("weights", "weight", "shape", "sliders", "morphs"),
    "tape": ("tape", "measures", "measurements", "tape measures"),
    "body": ("body", "base", "base body"),
    "stance": ("stance", "pose", "posture"),
    "where": ("where", "place", "spot"),
    "who": ("who", "from", "by", "wearer", "person", "author", "user"),
    "link": ("link", "url", "address", "thread"),
    "said": ("said", "date", "when", "day"),
    "method": ("method", "followed by"),
}
"""Known columns, and what people call them."""
_NUMBER = re.compile(r"^[+-]?\s*(\d+([.,]\d+)?|[.,]\d+)\s*(%|cm|CM)?$")
_PAIR = re.compile(r"\s*([^=:;,]+?)\s*[=:]\s*([^=:;]+?)\s*(?:[;,]\s*(?=[^=:;,]+[=:])|;|$)")


@dataclass(frozen=True)
class Columns:
    """What each column of a list means.

    Attributes:
        known: Name in the file by key of `NAMES`.
        weights: Name of a morph by the column that holds its weight.
        tape: Name of a measure by the column that holds it, cm.
        others: Columns that are kept as they are.
        notes: What was taken to be meant, one sentence each.
    """

    known: Mapping[str, str]
    weights: Mapping[str, str]
    tape: Mapping[str, str]
    others: tuple[str, ...]
    notes: tuple[str, ...]


def read_columns(columns: Sequence[str], morphs: Sequence[str]) -> Columns:
    """Find out what each column means.

    A column called as a morph holds its weight, one called as a tape measure (`waist`, `waist cm`, `waist girth`) its
    centimetres; where both fit, `cm` or `girth` says that the tape is meant.

    Args:
        columns: Names as the file has them.
        morphs: Names of the body's morphs.
    """
    known: dict[str, str] = {}
    weights: dict[str, str] = {}
    tape: dict[str, str] = {}
    others, notes = [], []
    by_word = {word: key for key, words in NAMES.items() for word in words}
    by_morph = {plain(name): name for name in morphs}
    measures = {plain(name): name for name in MEASURE_NAMES}
    for column in columns:
        word = plain(column)
        bare = word.removesuffix(" cm").removesuffix(" girth")
        if word in by_word and by_word[word] not in known:
            known[by_word[word]] = column
        elif word in by_word:
            notes.append(f"The column {column!r} was kept unread: {known[by_word[word]]!r} means the same.")
            others.append(column)
        elif word in by_morph and by_morph[word] not in weights.values():
            weights[column] = by_morph[word]
        elif bare in measures and measures[bare] not in tape.values():
            tape[column] = measures[bare]
        else:
            others.append(column)
            near = get_close_matches(word, [*by_word, *by_morph], n=1, cutoff=0.8)
            if near and re.sub(r" \d+$", "", word) not in by_word:  # else the reader has told of the second one
                notes.append(f"The column {column!r} is not known and was kept as it is; is {near[0]!r} meant?")
    return Columns(known, weights, tape, tuple(others), tuple(notes))


def plain(name: str) -> str:
    """A name in small letters without accents, signs and double spaces: `Gärment_Name ` is `garment name`."""
    bare = "".join(one for one in unicodedata.normalize("NFKD", name) if not unicodedata.combining(one))
    return " ".join(re.sub(r"[^a-z0-9]+", " ", bare.lower()).split())


def number_of(text: str, what: str) -> float:
    """`0.8`, `0,8`, `80 %` (0.8) or `96 cm` as a number.

    Raises:
        ArgumentError: it is none.
    """
    if not _NUMBER.match(text.strip()):
        raise ArgumentError.of("case import", what, "a number", repr(text[:80]), "Write for instance 0.8 or 96")
    bare = text.strip().lower().removesuffix("cm").strip()
    share = bare.endswith("%")
    value = float(bare.removesuffix("%").replace(",", ".").replace(" ", ""))
    return value / 100.0 if share else value


def pairs_of(text: str, what: str) -> dict[str, float]:
    """`belly=1, hips=0.5` (commas or semicolons between, `:` or `=` within) as numbers by name.

    Raises:
        ArgumentError: it is written otherwise, or names one twice.
    """
    found: dict[str, float] = {}
    text, at = text.rstrip(" ,;"), 0
    while at < len(text):
        match = _PAIR.match(text, at)
        if match is None or match.end() == at:
            advice = "Write for instance belly=1, hips=0.5"
            raise ArgumentError.of("case import", what, "NAME=NUMBER, ...", repr(text[:80]), advice)
        name = match[1].strip()
        if name in found:
            raise ArgumentError.of("case import", what, "each name once", f"{name!r} twice", "Leave one out")
        found[name] = number_of(match[2], f"{what}[{name!r}]")
        at = match.end()
    return found
