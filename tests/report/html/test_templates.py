"""What a template is given stays words: it cannot break out of the page."""

import html

import pytest
from jinja2 import UndefinedError
from markupsafe import Markup

from dressform.report.html.templates import anchor, counted, environment, figure, said

HOSTILE = (
    "</script><script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "<!--",
    "]]>",
    "&lt;b&gt;",
    "' onmouseover='alert(1)",
    "javascript:alert(1)",
)


def rendered(source: str, **values: object) -> str:
    return environment().from_string(source).render(**values)


@pytest.mark.parametrize("words", HOSTILE)
def test_words_come_back_from_what_a_browser_reads_and_hold_no_tag(words: str) -> None:
    made = rendered("{{ words }}", words=words)
    assert html.unescape(made) == words
    assert not set("<>\"'") & set(made)


@pytest.mark.parametrize("words", HOSTILE)
def test_attributes_are_escaped_like_children(words: str) -> None:
    made = rendered('<p title="{{ words }}">{{ words }}</p>', words=words)
    assert made.count("<") == 2
    assert made.count('"') == 2


@pytest.mark.parametrize("words", HOSTILE)
def test_macros_and_filters_give_words_too(words: str) -> None:
    source = '{% from "macros.html" import coded %}{{ coded(words | sentence) }}{{ words | said }}{{ words | anchor }}'
    made = rendered(source, words=f"`{words}`")
    assert made.count("<") == 2  # the code element alone


def test_markup_is_not_escaped_again() -> None:
    assert rendered("{{ piece }}", piece=Markup("<b>a &lt; b</b>")) == "<b>a &lt; b</b>"


def test_control_characters_and_halves_of_pairs_are_replaced() -> None:
    assert rendered("{{ words }}", words="a\x00b\x1b[31m\ud800") == "a\ufffdb\ufffd[31m\ufffd"
    assert rendered("{{ words }}", words="two\nlines\tand a tab") == "two\nlines\tand a tab"


def test_a_name_cannot_turn_the_reading_direction_of_the_page() -> None:
    assert rendered("{{ words }}", words="coat\u202egnp.bg") == "coatgnp.bg"


def test_a_value_that_is_missing_is_an_error_and_no_gap() -> None:
    with pytest.raises(UndefinedError, match="'words' is undefined"):
        rendered("{{ words }}")


def test_figures_settings_and_counts_are_told_in_words() -> None:
    assert (figure(12.0, "cm²"), figure(0.003)) == ("12 cm²", "0.003")
    assert (counted(1, "shape"), counted(0, "shape")) == ("1 shape", "0 shapes")
    assert said({"bands": [0.2, 2.0], "on": True, "base": None}) == "bands 0.2, 2; on yes; base –"


def test_anchors_of_different_names_differ() -> None:
    names = ("coat smooth/1", "coat smooth/11", "coat_smooth/1", "coat-smooth/1", "cöat smooth/1")
    assert len({anchor(name) for name in names}) == len(names)
