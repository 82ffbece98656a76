"""Other people's words in Markdown, where they are to be words and nothing else."""

import re

_ODD = re.compile("[\x00-\x08\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufffe\uffff\ud800-\udfff]")
"""What no text needs: control characters, halves of characters, and marks that turn the direction of what follows."""
_MARKUP = re.compile(r"[\\`*_\[\]|#~!${}]")
_ADDRESS = re.compile(r"(https?|ftp|mailto|xmpp|www)([:.])", re.IGNORECASE)
_MENTION = re.compile(r"@(?=\w)")
_LIST = re.compile(r"^([-+]?|\d+)([-+.)])(?=\s|$)")
_JOINER = "\u2060"


def inert_words(words: str, *, keep_addresses: bool = False) -> str:
    """Words that mean nothing to Markdown or HTML, in one line: no markup, no link, no mention, no turned text.

    Args:
        words: The words, of whoever wrote them.
        keep_addresses: Whether an address may become a link.

    Proof: tests/report/gate/test_hostile_names.py
    """
    words = " ".join(_ODD.sub("\ufffd", words).split())
    words = words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    words = _MARKUP.sub(r"\\\g<0>", words)
    if not keep_addresses:
        words = _ADDRESS.sub(r"\g<1>\\\g<2>", words)
    return _MENTION.sub(f"\\g<0>{_JOINER}", _LIST.sub(r"\g<1>\\\g<2>", words))


def code_words(words: str) -> str:
    """Words as code, in one line."""
    plain = _ODD.sub("\ufffd", words).replace("`", "\u02cb")  # what is code has no escape
    return f"`{' '.join(plain.split())}`"
