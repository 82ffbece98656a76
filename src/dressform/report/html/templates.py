"""The templates of the report: every value is text and is escaped, except for marked markup."""

import re
from collections.abc import Mapping
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from dressform.faults.words import FAULT_WORDS, figure_words
from dressform.formats.results.page.garments import GarmentAbout
from dressform.units import PERCENT

UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufffe\uffff\ud800-\udfff]")
"""Control characters and halves of pairs, which no HTML may hold."""
TURNING = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Characters that turn the reading direction of what follows: a file's name must not reorder the page."""


@cache
def environment() -> Environment:
    """The templates with their filters."""
    made = Environment(
        loader=PackageLoader("dressform.report.html", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=clean,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters |= {
        "alt": alt,
        "amount": lambda one: figure(one.value, one.unit),
        "anchor": anchor,
        "counted": counted,
        "fault_words": FAULT_WORDS.__getitem__,
        "figure": figure,
        "percent": lambda share: f"{share * PERCENT:.0f} %",
        "said": said,
        "sentence": lambda words: f"{words[:1].upper()}{words[1:]}.",
    }
    return made


def clean(value: object) -> object:
    """A value without the characters that HTML forbids; markup is unchanged."""
    if isinstance(value, str) and not isinstance(value, Markup):
        return TURNING.sub("", UNSEEN.sub("\ufffd", value))
    return value


def anchor(name: str) -> str:
    """An anchor of the page: letters and digits of the name are kept, all else is replaced by numbers."""
    return "place-" + "".join(
        letter if letter.isascii() and letter.isalnum() else f"_{ord(letter):x}" for letter in name
    )


def counted(number: int, what: str) -> str:
    """A count with its noun."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def figure(value: float, unit: str = "") -> str:
    """A value with its unit."""
    return figure_words(value, unit)


def said(value: object) -> str:
    """A setting in words."""
    if value is None or value in ("", [], ()):
        return "–"
    if isinstance(value, Mapping):
        return "; ".join(f"{name} {said(each)}" for name, each in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(said(each) for each in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def alt(garment: GarmentAbout, view: str) -> str:
    """What a picture of a garment shows."""
    if view == "worst":
        return f"{garment.name} at its worst shape: {garment.verdict}"
    return f"{garment.name} at the base, from the {view}"
