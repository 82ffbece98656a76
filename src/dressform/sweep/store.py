"""The only part of the sweep that touches files: rows that are kept, and objects that processes share."""

import hashlib
import mmap
import pickle
import sqlite3
import tempfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import fields, is_dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any, Protocol, runtime_checkable

import msgspec
import numpy as np

from dressform.errors import FileError
from dressform.faults.results import ShapeFaults
from dressform.leftovers import PLAIN, owned, sweep

PACKAGE = "dressform"
ALIGNMENT = 64
SEAL_BYTES = 4
SHARED_FILE = "shared.bin"
STORE_TABLES = {"rows", "finished"}
"""Tables of a store: rows of sweeps, and finished work; one file may hold both."""
STORE_APPLICATION = 0x64724673
"""Marks a SQLite file as a store of ours."""
DAMAGED = (sqlite3.Error, UnicodeDecodeError)
"""What sqlite3 raises for a damaged file: where its own words about the damage are no text, the second."""


@runtime_checkable
class KeptRows(Protocol):
    """Where finished rows are kept and looked up."""

    def get(self, key: bytes) -> tuple[ShapeFaults, float] | None:
        """Faults of a row and the seconds that they took, or None."""
        ...

    def put(self, key: bytes, faults: ShapeFaults, seconds: float) -> None:
        """Keep a row."""
        ...


class RowStore:
    """Rows of sweeps in one sqlite file, so that an interrupted sweep can resume.

    A row is found by a hash of everything that its values depend on: body, fit, settings, weights and the version of
    this package. A garment that has changed is therefore measured again; one that has not is not.

    Raises:
        FileError: the file cannot be opened, is no store, or is damaged. A row that is damaged is measured again.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            self._base = sqlite3.connect(path)
            self._refuse_other()
            self._base.execute("PRAGMA journal_mode=WAL")
            self._base.execute("PRAGMA synchronous=NORMAL")
            self._base.execute("CREATE TABLE IF NOT EXISTS rows (key BLOB PRIMARY KEY, faults BLOB, seconds REAL)")
        except DAMAGED as error:
            raise self._problem("", error) from error
        self._encoder = msgspec.msgpack.Encoder(enc_hook=_plain)
        self._decoder = msgspec.msgpack.Decoder(ShapeFaults, dec_hook=_array)

    def __enter__(self) -> "RowStore":
        return self

    def __exit__(self, *_: object) -> None:
        self._base.close()

    def get(self, key: bytes) -> tuple[ShapeFaults, float] | None:
        """Faults of a row and the seconds that they took; None where there is no such row, or it is damaged."""
        try:
            row = self._base.execute("SELECT faults, seconds FROM rows WHERE key = ?", (key,)).fetchone()
            return None if row is None else (self._decoder.decode(unsealed(row[0])), float(row[1]))
        except DAMAGED as error:
            raise self._problem("rows", error) from error
        except (msgspec.MsgspecError, ValueError, TypeError):
            return None

    def put(self, key: bytes, faults: ShapeFaults, seconds: float) -> None:
        """Keep a row."""
        try:
            with self._base:
                row = (key, sealed(self._encoder.encode(faults)), seconds)
                self._base.execute("INSERT OR REPLACE INTO rows VALUES (?, ?, ?)", row)
        except DAMAGED as error:
            raise self._problem("rows", error) from error

    def _refuse_other(self) -> None:
        """Refuse a database of somebody else's, before anything is written into it."""
        tables = {name for (name,) in self._base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        if not {str(name) for name in tables} <= STORE_TABLES:
            raise sqlite3.DatabaseError(f"it holds {', '.join(sorted(map(str, tables)))}")

    def _problem(self, place: str, error: Exception) -> FileError:
        return FileError.of(self.path, place, f"not a readable store of sweep rows ({error})", "Name another file")


def sealed(data: bytes) -> bytes:
    """Data with their checksum before them: a damaged number would otherwise be a wrong result."""
    return zlib.crc32(data).to_bytes(SEAL_BYTES, "little") + data


def unsealed(kept: object) -> bytes:
    """The data.

    Raises:
        ValueError: they are not what was sealed.
    """
    if not isinstance(kept, bytes):
        raise ValueError("no bytes were kept")
    data = kept[SEAL_BYTES:]
    if zlib.crc32(data).to_bytes(SEAL_BYTES, "little") != kept[:SEAL_BYTES]:
        raise ValueError("the checksum is another")
    return data


def content_hash(*parts: object) -> bytes:
    """Hash of the content of dataclasses, mappings, sequences, arrays and plain values, and of this package's version.

    Equal content gives an equal hash in every process; how the content is laid out in memory does not matter.
    """
    state = hashlib.sha256(version(PACKAGE).encode())
    _feed(state, parts)
    return state.digest()


@contextmanager
def shared(value: object) -> Iterator[Path]:
    """Write an object for other processes to open; the file is deleted when the context ends.

    What a process that was killed meanwhile left is swept up when the next context begins.

    Arrays lie in the file as they lie in memory (pickle protocol 5, out of band), so every process that opens it maps
    the same pages instead of copying them.
    """
    buffers: list[pickle.PickleBuffer] = []
    head = pickle.dumps(value, protocol=5, buffer_callback=buffers.append)
    blocks = [memoryview(head), *(buffer.raw() for buffer in buffers)]
    sizes = np.array([len(blocks), *(block.nbytes for block in blocks)], dtype=np.int64)
    sweep(Path(tempfile.gettempdir()))
    with tempfile.TemporaryDirectory(prefix=owned(PLAIN), ignore_cleanup_errors=True) as folder:
        path = Path(folder) / SHARED_FILE
        with path.open("wb") as file:
            file.write(sizes.tobytes())
            for block in blocks:
                file.write(b"\0" * (-file.tell() % ALIGNMENT))
                file.write(block)
        yield path


def open_shared(path: Path) -> Any:
    """The object that `shared` wrote. Its arrays may be written to: each changed page is copied for this process."""
    with path.open("rb") as file:
        pages = memoryview(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_COPY))
    count = int(np.frombuffer(pages[:8], dtype=np.int64)[0])
    sizes = np.frombuffer(pages[8 : 8 * (count + 1)], dtype=np.int64)
    blocks, at = [], 8 * (count + 1)
    for size in sizes:
        at += -at % ALIGNMENT
        blocks.append(pages[at : at + int(size)])
        at += int(size)
    return pickle.loads(blocks[0], buffers=blocks[1:])


def _feed(state: Any, value: object) -> None:
    """Add a value to a hash, with its kind and size so that no two contents run into one another.

    Fields that do not take part in comparing, such as where something was read from, are passed over.
    """
    if is_dataclass(value) and not isinstance(value, type):
        value = {field.name: getattr(value, field.name) for field in fields(value) if field.compare}
    if isinstance(value, np.ndarray):
        state.update(f"array {value.dtype.str} {value.shape}".encode())
        state.update(np.ascontiguousarray(value).data)
    elif isinstance(value, Mapping):
        state.update(f"map {len(value)}".encode())
        for key in sorted(value):
            _feed(state, key)
            _feed(state, value[key])
    elif isinstance(value, tuple | list):
        state.update(f"list {len(value)}".encode())
        for item in value:
            _feed(state, item)
    elif isinstance(value, np.generic):
        _feed(state, value.item())
    elif value is None or isinstance(value, str | bytes | int | float):
        text = repr(value).encode()
        state.update(f"{type(value).__name__} {len(text)}".encode())
        state.update(text)
    else:
        raise TypeError(f"content_hash: no rule for a {type(value).__name__}")


def _plain(value: object) -> object:
    """Arrays and mappings in a form that msgpack can store."""
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, Mapping):
        return dict(value)
    raise NotImplementedError(f"no rule to keep a {type(value).__name__}")


def _array(_: type, value: object) -> object:
    """An array of floats, the one kind of field that msgpack cannot read by itself."""
    return np.array(value, dtype=np.float64)
