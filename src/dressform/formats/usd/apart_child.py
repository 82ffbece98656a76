"""The process in which USD files are read: asked for one file after another, ended when its pipe closes.

It answers each question with one pair: `"done"` and the answer, or the name of an error and its words.
"""

import contextlib
import mmap
import os
import pickle
import signal
import sys
import threading
import time
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import numpy as np

from dressform.errors import ArgumentError, FileError
from dressform.formats.guards.limits import set_memory_limit
from dressform.formats.usd.modules import usd_library
from dressform.formats.usd.read import read_stage
from dressform.formats.usd.stage import layers_of, open_stage

try:
    import resource
except ImportError:  # not on every system
    resource = None  # type: ignore[assignment]

ORPHANED = 1.0
"""It looks so often, in seconds, whether the process that started it is still there."""
RESERVE = 1024**3
"""Bytes of addresses for what the library needs beside what it reads; common practice, no source."""
UNKNOWN = 2 * 1024**3
"""So many bytes of addresses the program takes before any file, where the system does not say."""


def serve(handle: int) -> None:
    """Answer until the pipe closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever asked is interrupted, and closes the pipe
    threading.Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
    pipe = Connection(handle)
    taken = _addresses_taken()
    while True:
        try:
            path, what, base, memory = pickle.loads(pipe.recv_bytes())
        except EOFError:
            return
        set_memory_limit(memory)
        _limit_addresses(taken + RESERVE + memory)
        pipe.send_bytes(pickle.dumps(_answer(Path(path), what, base)))


def _answer(path: Path, what: str, base: str | None) -> tuple[str, Any]:
    try:
        with np.errstate(all="ignore"):
            return "done", layers_of(path) if what == "layers" else read_stage(open_stage(path), base)
    except ArgumentError as problem:
        return ArgumentError.__name__, (str(problem), problem.function, problem.argument)
    except FileError as problem:
        return FileError.__name__, (str(problem), "", "")
    except (Exception, MemoryError) as problem:  # whatever the library makes of a damaged file
        words = f"is damaged ({type(problem).__name__}: {' '.join(str(problem).split())})"
        return FileError.__name__, (str(FileError.of(path, "", words, "Export it again")), "", "")


def _addresses_taken() -> int:
    """Bytes of addresses that this process takes, with the library, before any file."""
    usd_library(Path())
    try:
        return int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0]) * mmap.PAGESIZE
    except (OSError, ValueError):
        return UNKNOWN


def _limit_addresses(wanted: int) -> None:
    if resource is not None:
        hard = resource.getrlimit(resource.RLIMIT_AS)[1]
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(
                resource.RLIMIT_AS, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard)
            )


def _end_with(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(ORPHANED)
    os._exit(0)


if __name__ == "__main__":
    serve(int(sys.argv[1]))
