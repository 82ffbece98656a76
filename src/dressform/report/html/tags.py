"""HTML and SVG from values: what is not made by `tag` is text, and text is escaped."""

import html
import re
from collections.abc import Iterable

VOID = ("meta", "img", "br", "hr", "link")
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufffe\uffff\ud800-\udfff]")
"""Control characters and halves of pairs, which no HTML may hold."""
TURNING = re.compile("[\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Characters that turn the reading direction of what follows: a file's name must not reorder the page."""


PREFIX = "r-"
"""Before every class, so that the style of the page, which stands in the same document, means none of them."""


class Html(str):
    """Text that is HTML already."""

    __slots__ = ()


def text(words: str) -> Html:
    """Words as they can stand anywhere in HTML, in quotes too."""
    return Html(html.escape(TURNING.sub("", UNSEEN.sub("\ufffd", words)), quote=True))


def tag(name: str, /, *children: str, **attributes: str | float | int | bool | None) -> Html:
    """An element; children that are plain strings are escaped, attributes always.

    Attributes are named as in HTML, with `_` for `-`, and `class_` for `class`, whose words get `PREFIX`; None and
    False leave one out, True gives it no value.
    """
    head = "".join(_attribute(key, value) for key, value in attributes.items())
    if name in VOID:
        return Html(f"<{name}{head}>")
    return Html(f"<{name}{head}>{joined(children)}</{name}>")


def joined(children: Iterable[str]) -> Html:
    """Children one after the other."""
    return Html("".join(child if isinstance(child, Html) else text(child) for child in children))


def _attribute(key: str, value: str | float | int | bool | None) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    if value is True:
        return f" {name}"
    if name == "class":
        value = " ".join(PREFIX + word for word in str(value).split())
    written = f"{value:.5g}" if isinstance(value, float) else str(value)
    return f' {name}="{text(written)}"'
