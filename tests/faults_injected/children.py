"""Runs the program in forked children that are struck at a chosen moment, warm and therefore fast.

A child is struck from outside after a time, or strikes itself at the n-th event of its file system: a file opened to be
written, synced, renamed or removed. The second finds the moments between two files, which no clock hits.
"""

import io
import os
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

EVENTS = ("replace", "fsync", "unlink", "rmdir", "mkdir")
"""Functions of `os` before and after which a child may be struck."""


@dataclass(frozen=True)
class Strike:
    """When a child is struck, and how.

    Attributes:
        number: The signal.
        seconds: From the start, measured outside; None where an event decides.
        event: At which event, counted before and after each; None where the time decides.
    """

    number: int = signal.SIGKILL
    seconds: float | None = None
    event: int | None = None


@dataclass(frozen=True)
class Ended:
    """How a child ended.

    Attributes:
        code: Exit code, or minus the number of the signal.
        err: What it wrote to stderr.
        seconds: From the start to its end.
        after: From the strike to its end; 0 where it was not struck from outside.
        events: How many events it came to; known only where it ended by itself.
    """

    code: int
    err: str
    seconds: float
    after: float
    events: int


def run_child(work: Callable[[], int], temporary: Path, strike: Strike | None = None, *, room: int = 0) -> Ended:
    """Do some work in a child.

    Args:
        work: Returns the exit code; runs with `temporary` as the folder for temporary files.
        temporary: That folder.
        strike: When it is struck, if at all.
        room: Bytes that any file may grow to; 0 for no limit. Beyond it every write fails, as on a full disk.
    """
    words, counted = (temporary.parent / f"{temporary.name}.{kind}" for kind in ("err", "events"))
    words.write_text("")  # a child may be killed before it says anything
    began, begin = os.pipe()
    process = os.fork()
    if process == 0:
        _be_child(work, temporary, strike, room, words, counted, begin)
    os.close(begin)
    os.read(began, 1)  # a blow before the program begins says nothing of the program
    os.close(began)
    start, after = time.monotonic(), 0.0
    if strike is not None and strike.seconds is not None:
        time.sleep(max(0.0, start + strike.seconds - time.monotonic()))
        struck = time.monotonic()
        os.kill(process, strike.number)
    _, status = os.waitpid(process, 0)
    if strike is not None and strike.seconds is not None:
        after = time.monotonic() - struck
    told = counted.read_text() if counted.exists() else ""  # a blow may come while it is being written
    events = int(told or 0)
    counted.unlink(missing_ok=True)
    return Ended(os.waitstatus_to_exitcode(status), words.read_text(), time.monotonic() - start, after, events)


def _be_child(
    work: Callable[[], int], temporary: Path, strike: Strike | None, room: int, words: Path, counted: Path, begin: int
) -> None:
    """Never returns; writes to `begin` when the work begins."""
    code = 99
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        handle = os.open(words, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(handle, 2)
        os.dup2(os.open(os.devnull, os.O_RDWR), 1)
        sys.stdout, sys.stderr = io.TextIOWrapper(io.FileIO(1, "w")), io.TextIOWrapper(io.FileIO(2, "w"))
        tempfile.tempdir = str(temporary)
        seen = _listen(strike)
        if room:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
        os.write(begin, b".")
        code = work()
        sys.stdout.flush()
        sys.stderr.flush()
        if not room:
            counted.write_text(str(len(seen)))
    finally:
        os._exit(code)


def _listen(strike: Strike | None) -> list[str]:
    """Count the events of this process, and strike it at the one that is chosen."""
    seen: list[str] = []

    def note(name: str) -> None:
        seen.append(name)
        if strike is not None and strike.event == len(seen):
            os.kill(os.getpid(), strike.number)

    for name in EVENTS:
        setattr(os, name, _told(getattr(os, name), name, note))
    return seen


def _told(function: Callable[..., object], name: str, note: Callable[[str], None]) -> Callable[..., object]:
    def call(*args: object, **more: object) -> object:
        note(f"before {name}")
        try:
            return function(*args, **more)
        finally:
            note(f"after {name}")

    return call
