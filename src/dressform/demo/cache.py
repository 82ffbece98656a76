"""Results of long demo work kept in the platform's cache folder, keyed by the sources that made them."""

import hashlib
import os
import sys
import tempfile
import zipfile
from collections.abc import Callable, Mapping
from contextlib import suppress
from importlib.resources import files
from pathlib import Path

import numpy as np

ENVIRONMENT = "DRESSFORM_CACHE"
"""Environment variable that names another cache folder."""

Arrays = dict[str, np.ndarray]


def cache_folder() -> Path:
    """The folder of cached demo results; it need not exist yet."""
    chosen = os.environ.get(ENVIRONMENT)
    if chosen:
        return Path(chosen)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "dressform" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "dressform"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "dressform"


def source_key(patterns: tuple[str, ...], *arguments: object) -> str:
    """A short hash of the demo's source files that match, and of the arguments."""
    digest = hashlib.sha256(repr(arguments).encode())
    folder = Path(str(files("dressform.demo")))
    for path in sorted({path for pattern in patterns for path in folder.glob(pattern)}):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def cached(name: str, key: str, make: Callable[[], Mapping[str, np.ndarray]]) -> Arrays:
    """The arrays that `make` returns, from the cache when they are there and whole.

    A file that cannot be read is made again. A folder that cannot be written is no error: the work is then repeated
    next time.
    """
    path = cache_folder() / f"{name}-{key}.npz"
    kept = _read(path)
    if kept is not None:
        return kept
    arrays = dict(make())
    with suppress(OSError):
        _write(path, arrays)
    return arrays


def _read(path: Path) -> Arrays | None:
    try:
        with path.open("rb") as stream, np.load(stream, allow_pickle=False) as stored:
            return {key: stored[key] for key in stored.files}
    except (OSError, ValueError, EOFError, KeyError, zipfile.BadZipFile):
        return None


def _write(path: Path, arrays: Arrays) -> None:
    """Write to a temporary name in the same folder, then rename: readers see a whole file or none."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(dir=path.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as stream:
            np.savez(stream, **arrays)  # type: ignore[arg-type]
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
