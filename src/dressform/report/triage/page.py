"""A triage as one HTML file in the look of the report: it loads nothing, and runs no script."""

import base64
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup
from PIL import Image as PillowImage

from dressform.faults.words import FAULT_WORDS, place_amount
from dressform.formats.results.triage_schema import StoredTriage, TriageCase, TriageMatter
from dressform.report.html.templates import environment
from dressform.report.html.whole import policy, report_style
from dressform.report.tables.check import where
from dressform.report.triage.markdown import CHANGES, OUTCOMES, headline, title, word_notes

QUALITY = 84
_HEAD = re.compile(r"^\*\*(.+?)\*\*\s*")


@dataclass(frozen=True)
class _Paragraph:
    """A paragraph of an answer: its first words, bold, and the rest."""

    head: str
    rest: str


@dataclass(frozen=True)
class _Matter:
    """A matter as the template shows it."""

    told: TriageMatter
    title: str
    figure: str
    picture: str
    answer: list[_Paragraph]


@dataclass(frozen=True)
class _Outcome:
    """Complaints of one outcome."""

    heading: str
    cases: tuple[TriageCase, ...]


def triage_page(told: StoredTriage, pictures: Mapping[str, bytes], *, glossary: str = "") -> str:
    """The whole file.

    Args:
        told: The triage.
        pictures: PNG by the file name that a matter gives; put into the file.
        glossary: Where the glossary is, to be linked.
    """
    style = report_style()
    outcomes = [_Outcome(heading, told.of(outcome)) for outcome, heading in OUTCOMES.items()]
    changes = [change for kind in CHANGES for change in told.changes if change.kind == kind]
    return (
        environment()
        .get_template("triage.html")
        .render(
            told=told,
            headline=headline(told),
            matters=[_matter(one, pictures) for one in told.matters],
            outcomes=[one for one in outcomes if one.cases],
            changes=changes,
            glossary=glossary,
            word_notes=word_notes,
            paragraphs=_paragraphs,
            style=Markup(style),
            policy=policy(style),
        )
    )


def picture_uri(png: bytes) -> str:
    """A PNG as a smaller picture inside the file."""
    stream = io.BytesIO()
    with PillowImage.open(io.BytesIO(png)) as image:
        image.convert("RGB").save(stream, format="WEBP", quality=QUALITY)
    return f"data:image/webp;base64,{base64.b64encode(stream.getvalue()).decode('ascii')}"


def _matter(one: TriageMatter, pictures: Mapping[str, bytes]) -> _Matter:
    picture = picture_uri(pictures[one.picture]) if one.picture in pictures else ""
    figure = f"{FAULT_WORDS[one.fault]}, {place_amount(one.place)}; {where(one.place)}"
    return _Matter(one, title(one), figure, picture, _paragraphs(one.answer))


def _paragraphs(answer: str) -> list[_Paragraph]:
    """An answer cut into its paragraphs."""
    made = []
    for text in answer.split("\n\n"):
        match = _HEAD.match(text)
        made.append(_Paragraph(match[1], text[match.end() :]) if match else _Paragraph("", text))
    return made
