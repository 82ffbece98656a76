"""The glossary: what each fault is called, what it looks like, slight, moderate and grave."""

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from importlib.resources.abc import Traversable

from markupsafe import Markup

from dressform.faults.registry import ALL_FAULTS
from dressform.faults.results import SEVERITIES
from dressform.faults.words import figure_words
from dressform.report.html.templates import environment
from dressform.report.html.whole import policy, report_style
from dressform.report.triage.answers import plain_words

GLOSSARY = "glossary.html"
"""The name of its file, beside whatever links to it."""


@dataclass(frozen=True)
class _Entry:
    """A fault as the template shows it."""

    key: str
    name: str
    plain: str
    meaning: str
    figure: str
    bands: list[tuple[str, str, str]]
    words: Sequence[str]


def glossary_page(words: Mapping[str, Sequence[str]] | None = None) -> str:
    """The glossary as one HTML file that loads nothing.

    Args:
        words: What wearers call each fault, by its name; left out where not known.

    Proof: tests/report/test_glossary.py
    """
    style = report_style()
    called = words or {}
    entries = [
        _Entry(
            one.key,
            one.words,
            plain_words()["fault"][one.key],
            "" if one.layer is None else one.layer.meaning,
            one.figure,
            [
                (severity, figure_words(bound * one.factor, one.unit, digits=one.digits), _picture(one.key, severity))
                for severity, bound in zip(SEVERITIES[1:], one.bands)
            ],
            called.get(one.key, ()),
        )
        for one in ALL_FAULTS
    ]
    template = environment().get_template("glossary.html")
    return template.render(entries=entries, style=Markup(style), policy=policy(style))


def pictured() -> set[tuple[str, str]]:
    """Faults and severities of which there is a picture."""
    names = [one.name.removesuffix(".webp").rpartition("-") for one in _folder().iterdir() if one.name.endswith("webp")]
    return {(fault, severity) for fault, _, severity in names}


def _picture(fault: str, severity: str) -> str:
    """A picture inside the file; empty where there is none."""
    path = _folder().joinpath(f"{fault}-{severity}.webp")
    if not path.is_file():
        return ""
    return f"data:image/webp;base64,{base64.b64encode(path.read_bytes()).decode('ascii')}"


def _folder() -> Traversable:
    return files("dressform.report.triage").joinpath("glossary")
