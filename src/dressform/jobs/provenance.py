"""Where results come from: when, by which versions, from which files."""

import hashlib
import platform
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path

import numpy as np

from dressform.formats.guards.file_names import path_text
from dressform.formats.results.check_report import Source

COMPUTED_WITH = ("dressform", "numpy", "scipy", "numba", "libigl")


def now() -> str:
    """The time, ISO 8601, with its zone."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def versions() -> Mapping[str, str]:
    """Version of this program and of what it computes with."""
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in COMPUTED_WITH}}


def source_of(path: Path) -> Source:
    """A file with the hash of its content."""
    return Source(path_text(path), hashlib.sha256(path.read_bytes()).hexdigest())


def content_of(*arrays: np.ndarray) -> str:
    """SHA-256 of arrays: their shapes and numbers, whatever their layout in memory."""
    state = hashlib.sha256()
    for array in arrays:
        kind = "<i8" if np.issubdtype(array.dtype, np.integer) else "<f8"
        state.update(repr(array.shape).encode())
        state.update(np.ascontiguousarray(array, dtype=kind).tobytes())
    return state.hexdigest()


NO_FILE = Source("", "")
"""Stands for what was made in memory."""
