"""Writing a file so that it is whole or not there at all."""

import errno
import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from dressform.errors import FileError
from dressform.formats.guards.inputs import note_written, refuse_input
from dressform.leftovers import HIDDEN, owned, sweep

READABLE = 0o644


def write_pieces(path: Path, pieces: Iterable[str]) -> None:
    """Write text that comes in pieces, as UTF-8; otherwise as `write_bytes`.

    Raises: As `write_bytes`.
    """
    _write_whole(path, (piece.encode() for piece in pieces), update=False)


def write_bytes(path: Path, data: bytes, *, update: bool = False) -> None:
    """Write to a temporary name in the same folder, flush to disk, then rename over `path`.

    A symbolic link stays, and the file that it leads to is written. What a process that was killed meanwhile left there
    is swept up by the next write into the folder. A folder that is missing is made.

    Args:
        path: The file.
        data: All that it will hold.
        update: Whether the file may be one that this run has read, as settings are that are read, changed and saved.

    Raises:
        FileError: the folder cannot be made or written, or the file is an input; nothing is left behind.
    """
    _write_whole(path, (data,), update=update)


def _write_whole(path: Path, pieces: Iterable[bytes], *, update: bool) -> None:
    temporary = ""
    if not update:
        refuse_input(path)
    try:
        path = written_through(path)
        path.parent.mkdir(parents=True, exist_ok=True)
        sweep(path.parent)
        handle, temporary = tempfile.mkstemp(prefix=owned(HIDDEN), suffix=".part", dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.writelines(pieces)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, READABLE & ~_umask())
        os.replace(temporary, path)
        temporary = ""
        note_written(path)
    except OSError as problem:
        advice = "Name a file in a folder that can be written"
        raise FileError.of(path, "", f"cannot be written ({problem.strerror})", advice) from problem
    finally:
        if temporary:
            with suppress(OSError):
                os.unlink(temporary)


def written_through(path: Path) -> Path:
    """Where a file is really written: the end of a symbolic link, or the path itself.

    Raises:
        OSError: the link leads round in a circle.
    """
    if not path.is_symlink():
        return path
    end = Path(os.path.realpath(path))
    if end.is_symlink():
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP), str(path))
    return end


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
