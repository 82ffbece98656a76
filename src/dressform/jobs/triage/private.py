"""Keeps what tells who somebody is out of what others read."""

import re

HIDDEN = "[…]"
MIN_NAME = 3
_PRIVATE = re.compile(
    r"(?:https?://|www\.)\S+"  # links
    r"|[\w.+-]+@[\w-]+\.[\w.-]+"  # addresses
    r"|(?<![\w@])@\w{2,}"  # handles
    r"|(?<!\d)\+?\d[\d ()/-]{7,}\d(?!\d)"  # telephone numbers
)


def without_names(text: str, *, who: str = "", link: str = "") -> str:
    """A note without links, addresses, handles, telephone numbers, and without the name and link of who says it.

    Other people's names cannot be known from others' words: a note may still hold some.

    Args:
        text: What the person wrote.
        who: Who said it: each word of it with three letters or more is left out.
        link: Where it was said.

    Proof: tests/jobs/triage/test_private.py
    """
    if link:
        text = text.replace(link, HIDDEN)
    text = _PRIVATE.sub(HIDDEN, text)
    for name in sorted((one for one in re.split(r"\W+", who) if len(one) >= MIN_NAME), key=len, reverse=True):
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", HIDDEN, text, flags=re.IGNORECASE)
    return re.sub(rf"{re.escape(HIDDEN)}(?:\s+{re.escape(HIDDEN)})+", HIDDEN, text)
