"""A memory budget for reading files, checked before anything is allocated, so that no file can exhaust it.

What counts is what will be allocated, not what the file declares once: whole numbers become 64-bit, meshes are turned,
welded and searched for edges, text becomes words. The costs below were measured as the growth of a process while it
reads files of rising size, and rounded up.
"""

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from difflib import get_close_matches
from pathlib import Path
from typing import BinaryIO

from dressform.errors import ArgumentError, FileError
from dressform.formats.guards.inputs import note_read

DEFAULT_MEMORY = 2 * 1024**3
SMALLEST_MEMORY = 64 * 1024**2
MAX_JSON_DEPTH = 100
MAX_SETTINGS_BYTES = 16 * 1024**2  # files that people write: ranges, bands, outfits, settings
GIB = 1024**3
ALIKE = 0.8
"""Share of letters in common from which one name may be meant by another."""

BYTES_PER_VERTEX = 120
BYTES_PER_CORNER = 150
BYTES_PER_MOVED_VERTEX = 96  # each vertex of each morph
BYTES_PER_JOINT_WEIGHT = 64
BYTES_PER_SCALAR = 32
BYTES_PER_TEXT_BYTE = 4
BYTES_PER_WORD = 240
BYTES_PER_JSON_ITEM = 150

_limit = DEFAULT_MEMORY


def memory_limit() -> int:
    """Most bytes that reading one file may take."""
    return _limit


def set_memory_limit(most: int) -> None:
    """Change how many bytes reading one file may take, for the whole process.

    Raises:
        ArgumentError: less than `SMALLEST_MEMORY`.
    """
    global _limit
    if most < SMALLEST_MEMORY:
        rule = f"at least {SMALLEST_MEMORY / GIB:g} GiB"
        raise ArgumentError.of("set_memory_limit", "most", rule, f"{most / GIB:g}", "Allow more memory")
    _limit = most


@contextmanager
def limited_memory(most: int) -> Iterator[None]:
    """`set_memory_limit` for a block."""
    before = memory_limit()
    set_memory_limit(most)
    try:
        yield
    finally:
        set_memory_limit(before)


def read_bytes(path: Path, *, most: int | None = None) -> bytes:
    """The whole of a regular file.

    Args:
        path: The file; links to it are followed.
        most: Bytes that are read at most; the memory limit where left out.

    Raises:
        FileError: missing, unreadable, not a regular file, empty, larger than `most` bytes, or still being written.
    """
    most = memory_limit() if most is None else min(most, memory_limit())
    try:
        with _opened(path) as handle:
            size = _size(path, handle, most)
            data = handle.read(size + 1)
    except FileNotFoundError:
        raise FileError.of(path, "", "there is no such file", _advice(path)) from None
    except (OSError, ValueError) as problem:
        advice = "Check the path and its permissions"
        reason = problem.strerror if isinstance(problem, OSError) else problem
        raise FileError.of(path, "", f"cannot be read ({reason})", advice) from problem
    if len(data) > size:
        raise FileError.of(path, "", "grows while it is read", "Wait until it is written")
    if not data:
        raise FileError.of(path, "", "is empty", "Export it again")
    return data


def _advice(path: Path) -> str:
    """What to do about a missing file: name the one beside it that is nearly called so, if there is one."""
    try:
        beside = [one.name for one in path.parent.iterdir() if one.suffix.lower() == path.suffix.lower()]
    except OSError:
        return "Check the path"
    near = get_close_matches(path.name, beside, n=1, cutoff=ALIKE)
    return f"Perhaps {path.with_name(near[0])} was meant" if near else "Check the path"


def _opened(path: Path) -> BinaryIO:
    """The file, opened without waiting: a pipe that nobody writes into would hang for ever."""
    if path.is_dir():
        raise FileError.of(path, "", "is a folder", "Name a file in it")
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    return os.fdopen(os.open(path, flags), "rb")


def _size(path: Path, handle: BinaryIO, most: int) -> int:
    found = os.fstat(handle.fileno())
    if not stat.S_ISREG(found.st_mode):
        raise FileError.of(path, "", "is a pipe or a device, not a file on a disk", "Name a file")
    if found.st_size > most:
        problem = f"is {found.st_size:,} bytes, more than the {most:,} read"
        raise FileError.of(path, "", problem, "Split it, or use GLB")
    note_read(found)
    return found.st_size


def refuse_excess(path: Path, place: str, needed: int) -> None:
    """Refuse what would take more bytes than the memory limit.

    Raises:
        FileError: `needed` bytes exceed the limit.
    """
    if needed > memory_limit():
        problem = f"would take {needed / GIB:,.1f} GiB of memory; the limit is {memory_limit() / GIB:,.3g} GiB"
        raise FileError.of(path, place, problem, "Export it again if it is damaged, split it, or raise the limit")


def mesh_bytes(vertices: int, corners: int, *, moved: int = 0, joint_weights: int = 0, scalars: int = 0) -> int:
    """Bytes that reading, turning and welding a mesh takes.

    Args:
        vertices: Stored vertices.
        corners: Corners of triangles.
        moved: Vertices times morphs.
        joint_weights: Vertices times joints per vertex.
        scalars: Vertices times further numbers per vertex.
    """
    return (
        vertices * BYTES_PER_VERTEX
        + corners * BYTES_PER_CORNER
        + moved * BYTES_PER_MOVED_VERTEX
        + joint_weights * BYTES_PER_JOINT_WEIGHT
        + scalars * BYTES_PER_SCALAR
    )


def text_limit() -> int:
    """Most bytes of a text file that are read: parsed, it takes several times as much."""
    return memory_limit() // BYTES_PER_TEXT_BYTE


def json_bytes(text: bytes) -> int:
    """Bytes that parsing JSON or the like takes: an empty object is two bytes of text and sixty-four of memory."""
    items = sum(text.count(mark) for mark in (b",", b"{", b"["))
    return len(text) * BYTES_PER_TEXT_BYTE + items * BYTES_PER_JSON_ITEM


def words_bytes(text: bytes) -> int:
    """Bytes that splitting text into words takes."""
    words = sum(text.count(mark) for mark in (b" ", b"\n", b"\t", b"\r"))
    return len(text) * BYTES_PER_TEXT_BYTE + words * BYTES_PER_WORD
