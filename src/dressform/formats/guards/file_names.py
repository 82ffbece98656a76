"""Names of files as text that JSON, glTF and a terminal can hold, whatever bytes the names have.

A file system may hold names that are no UTF-8. Python carries their odd bytes as lone surrogates, which no file format
takes. Shown, such a byte is written as `%E9`, and what would begin a new line as `%0A`; a whole path that must be found
again becomes a `file:` URI [RFC8089].
"""

import os
from pathlib import Path
from urllib.parse import quote, unquote_to_bytes

SCHEME = "file:"
ODD = 0xDC00  # plus the byte: how Python carries a byte that is no UTF-8
KEPT = "/ +,()[]&@=!'~:;$"
BREAKS = "\n\r\v\f\x1c\x1d\x1e\x85\u2028\u2029"
"""What ends a line: a name that holds one could add a line of its own to a log."""


def stem_of(path: Path) -> str:
    """The name of a file without folders and ending, for people and for other files."""
    return shown(path.stem)


def shown(name: str) -> str:
    """The name in one line, with every byte that is no UTF-8 written as `%E9` and the like."""
    return "".join(_shown(letter) for letter in name)


def _shown(letter: str) -> str:
    if ODD <= ord(letter) <= ODD + 0xFF:
        return f"%{ord(letter) - ODD:02X}"
    return quote(letter) if letter in BREAKS else letter


def path_text(path: Path) -> str:
    """The path as text that `path_of` turns back: as it is, or a `file:` URI where it is no UTF-8 or no line."""
    text = str(path)
    if shown(text) == text and not text.startswith(SCHEME):
        return text
    return SCHEME + quote(os.fsencode(text), safe=KEPT)


def path_of(text: str) -> Path:
    """The path that `path_text` wrote."""
    if not text.startswith(SCHEME):
        return Path(text)
    return Path(os.fsdecode(unquote_to_bytes(text[len(SCHEME) :])))
