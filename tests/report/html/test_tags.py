"""HTML that is made of tags cannot be broken out of."""

import html

import pytest

from dressform.report.html.tags import PREFIX, Html, joined, tag, text

HOSTILE = (
    "</script><script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "<!--",
    "]]>",
    "&lt;b&gt;",
    "' onmouseover='alert(1)",
    "javascript:alert(1)",
)


@pytest.mark.parametrize("words", HOSTILE)
def test_text_comes_back_from_what_a_browser_reads_and_holds_no_tag(words: str) -> None:
    made = text(words)
    assert html.unescape(made) == words
    assert not set("<>\"'") & set(made)


@pytest.mark.parametrize("words", HOSTILE)
def test_children_and_attributes_are_escaped(words: str) -> None:
    made = tag("p", words, title=words)
    assert made == f'<p title="{text(words)}">{text(words)}</p>'
    assert made.count("<") == 2


def test_what_is_html_already_is_not_escaped_again() -> None:
    assert tag("p", tag("b", "a < b")) == "<p><b>a &lt; b</b></p>"
    assert joined(["<", Html("<br>")]) == "&lt;<br>"


def test_attributes_are_named_as_in_html() -> None:
    made = tag("img", class_="wide tall", aria_label="x", hidden=True, title=None, open=False, width=2.0)
    assert made == f'<img class="{PREFIX}wide {PREFIX}tall" aria-label="x" hidden width="2">'


def test_control_characters_and_halves_of_pairs_are_replaced() -> None:
    assert text("a\x00b\x1b[31m\ud800") == "a\ufffdb\ufffd[31m\ufffd"
    assert text("two\nlines\tand a tab") == "two\nlines\tand a tab"


def test_a_name_cannot_turn_the_reading_direction_of_the_page() -> None:
    assert text("coat\u202egnp.bg") == "coatgnp.bg"
