"""A folder of results that is filled whole or not at all."""

import os
import secrets
import shutil
import stat
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from dressform.errors import FileError
from dressform.formats.atomic import write_bytes, written_through
from dressform.formats.guards.inputs import note_written, refuse_input
from dressform.leftovers import HIDDEN, owned, sweep


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """A hidden folder to write in; at the end its files move to `target`, replacing those of the same names.

    When the block raises (an interrupt too) nothing of it stays, and `target` is as it was; after a kill the next run
    sweeps it up. Files of `target` that the block did not write are left alone. Where a symbolic link has the name of
    a file, the file that it leads to is written.

    Raises:
        FileError: the file system refuses, or one of the names is that of an input; the path and its reason are named.
    """
    new = not target.exists()
    partial = target / f"{owned(HIDDEN)}{secrets.token_hex(8)}"  # named before it is made: an interrupt loses no name
    try:
        target.mkdir(parents=True, exist_ok=True)
        sweep(target)
        partial.mkdir(mode=stat.S_IRWXU)
        yield partial
        ends = {path: target / path.relative_to(partial) for path in sorted(partial.rglob("*")) if path.is_file()}
        for final in ends.values():
            refuse_input(final)
        for path, final in ends.items():
            final.parent.mkdir(parents=True, exist_ok=True)
            _move(path, final)
    except OSError as error:
        raise _refused(target, error) from error
    finally:
        shutil.rmtree(partial, ignore_errors=True)
        if new and target.is_dir() and not any(target.iterdir()):
            target.rmdir()


def _move(path: Path, final: Path) -> None:
    """Put a finished file in its place; through a symbolic link, which may lead to another disk, by writing it anew."""
    if written_through(final) != final:
        write_bytes(final, path.read_bytes())
        return
    os.replace(path, final)
    note_written(final)


def refuse_unwritable(target: Path, *, is_folder: bool) -> None:
    """Check before long work that its results can be written.

    Raises:
        FileError: `target` is of the other kind, or the folder that would hold it is closed to writing. A missing one
            is made when the file is written.
    """
    if target.exists() and target.is_dir() != is_folder:
        kind = "is a file" if is_folder else "is a folder"
        raise FileError.of(target, "", f"cannot be written ({kind})", "Choose another name")
    holder = target if is_folder else target.parent
    while not holder.exists():
        holder = holder.parent
    if not holder.is_dir() or not _takes_files(holder):
        problem = "is closed to writing" if holder.is_dir() else "is no folder"
        raise FileError.of(target, "", f"cannot be written ({holder} {problem})", "Choose a place you may write to")


def _takes_files(folder: Path) -> bool:
    """Whether a file can be made there: tried, since permissions tell nothing of what kind of folder it is."""
    try:
        with tempfile.NamedTemporaryFile(prefix=owned(HIDDEN), dir=folder):
            return True
    except OSError:
        return False


def _refused(target: Path, error: OSError) -> FileError:
    place = error.filename or target
    return FileError.of(place, "", f"cannot be written ({error.strerror})", "Choose a place you may write to")
