"""What a run has read it never writes over: the files are known by their inode, so links and other names count too."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from dressform.errors import FileError

Identity = tuple[int, int]
"""Device and inode."""

ELSEWHERE = "Name another file: what is read is never written over"
_read: set[Identity] | None = None
_written: set[Identity] = set()


@contextmanager
def kept_inputs() -> Iterator[None]:
    """While the block runs, every file that `note_read` is told of is kept from being written over."""
    global _read
    before, _read = _read, set()
    try:
        yield
    finally:
        _read = before
        _written.clear()


def note_read(found: os.stat_result) -> None:
    """A file was opened to be read. What this run wrote itself does not count."""
    identity = found.st_dev, found.st_ino
    if _read is not None and identity not in _written:
        _read.add(identity)


def note_written(path: Path) -> None:
    """A file was put in its place by this run, and may be replaced again."""
    if _read is not None and (identity := identity_of(path)) is not None:
        _written.add(identity)


def refuse_input(path: Path) -> None:
    """Refuse to write over what this run has read.

    Raises:
        FileError: `path` is such a file, by its name, by a link or by another name of it.
    """
    if _read and identity_of(path) in _read:
        raise FileError.of(path, "", "is an input", ELSEWHERE)


def identity_of(path: Path) -> Identity | None:
    """Which file a path leads to, links followed; None where there is none."""
    with suppress(OSError, ValueError):
        found = os.stat(path)
        return found.st_dev, found.st_ino
    return None
