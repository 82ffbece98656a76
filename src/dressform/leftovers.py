"""Temporary files and folders that say whose they are, so that what a killed process left is swept up later.

A name holds the machine, the process and the moment at which that process started. Only what belongs to this user, to
this machine and to a process that is gone is removed; a folder that several machines share is safe.
"""

import os
import re
import shutil
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path

HIDDEN = ".dressform-"
PLAIN = "dressform-"
_NAME = re.compile(r"\.?dressform-(?P<machine>[0-9a-f]{8})-(?P<process>\d+)-(?P<start>\d+)-")
_PROC = Path("/proc")
_START_FIELD = 19  # of what follows the name in brackets [proc5]
_used: set[Path] = set()
"""Folders in which this process may have made something."""


def owned(prefix: str) -> str:
    """The beginning of a name, after `HIDDEN` or `PLAIN`, for something that this process makes."""
    process = os.getpid()
    return f"{prefix}{_machine()}-{process}-{_start(process) or 0}-"


def sweep(folder: Path) -> None:
    """Remove what processes that are gone have left directly in a folder. What cannot be removed stays, unsaid."""
    _used.add(folder)
    _remove_where(folder, lambda process, start: not _lives(process, start))


def sweep_own() -> None:
    """Remove all that this process has made, where it must end at once."""
    for folder in tuple(_used):
        _remove_where(folder, lambda process, _: process == os.getpid())


def _remove_where(folder: Path, is_rubbish: Callable[[int, int], bool]) -> None:
    if not hasattr(os, "getuid"):
        return
    with suppress(OSError):
        for entry in os.scandir(folder):
            found = _NAME.match(entry.name)
            if found and found["machine"] == _machine() and is_rubbish(int(found["process"]), int(found["start"])):
                with suppress(OSError):
                    if entry.stat(follow_symlinks=False).st_uid == os.getuid():
                        _remove(entry)


def _remove(entry: "os.DirEntry[str]") -> None:
    if entry.is_dir(follow_symlinks=False):
        shutil.rmtree(entry.path, ignore_errors=True)
    else:
        os.unlink(entry.path)


def _lives(process: int, start: int) -> bool:
    """Whether that process still runs, and is not another one that was given its number."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):  # somebody else's, or no number of a process: not ours to judge
        return True
    now = _start(process)
    return now is None or start in (0, now)


def _start(process: int) -> int | None:
    """When a process started, in ticks since the machine did; None where the system does not say."""
    try:
        text = (_PROC / str(process) / "stat").read_text(encoding="utf-8", errors="replace")
        return int(text.rpartition(")")[2].split()[_START_FIELD])
    except (OSError, ValueError, IndexError):
        return None


@cache
def _machine() -> str:
    """Tells this machine, and this container on it, from others that may share a folder."""
    space = ""
    with suppress(OSError):
        space = os.readlink(_PROC / "self" / "ns" / "pid")
    import hashlib  # noqa: PLC0415  # both take a tenth of the time in which help is shown
    import socket  # noqa: PLC0415

    return hashlib.sha256(f"{socket.gethostname()} {space}".encode()).hexdigest()[:8]
