"""A console through which no name can send control codes."""

import re
from collections.abc import Iterable
from typing import Any

from rich.console import Console, ConsoleOptions
from rich.segment import Segment

_CODES = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
"""Control codes but for tabs and line ends, and the marks that turn the direction of text round."""


class CleanConsole(Console):
    """Prints names of files, morphs and parts as they are, but for control codes, which are spelt out; no markup."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"markup": False, "emoji": False, **options})

    def render(self, renderable: Any, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """Everything that is printed passes here."""
        for segment in super().render(renderable, options):
            is_clean = segment.control or not _CODES.search(segment.text)
            yield segment if is_clean else Segment(spelt_out(segment.text), segment.style)


def spelt_out(text: str) -> str:
    """The text with every control code as people write it, such as `\\x1b`."""
    return _CODES.sub(_spelt, text)


def _spelt(found: re.Match[str]) -> str:
    code = ord(found.group())
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
