"""USD files are read in a process of their own.

The library trusts its files: a damaged one can end the process that reads it, or ask for more memory than there is.
So a process beside this one reads them, within the memory limit; where it dies, the file is refused and the next one
gets a new process.
"""

import atexit
import os
import pickle
import subprocess
import sys
import threading
import time
from functools import cache
from importlib.util import find_spec
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from dressform.errors import ArgumentError, FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.guards.limits import memory_limit, read_bytes
from dressform.formats.usd.modules import INSTALL, MARKS
from dressform.interrupts import raise_if_interrupted

LIBRARY = "pxr"
CHILD = "dressform.formats.usd.apart_child"
MOST_SECONDS = 120.0
LOOK = 0.05
AGAIN = "Export it again"
FEW_THREADS = {"PXR_WORK_THREAD_LIMIT": "1", "MALLOC_ARENA_MAX": "2", "OPENBLAS_NUM_THREADS": "1"}
"""Each thread takes addresses, which are limited; and files are small."""


def read_usd(path: Path, base: str | None = None) -> FileMesh:
    """All meshes that a USD file shows, in its own units.

    Args:
        path: The file.
        base: Name or path of a prim, of which alone the meshes are read.

    Raises:
        FileError: `usd-core` is not installed; the file is missing, damaged or no USD; it refers to a layer that is
            missing or lies outside its folder; or it shows no triangles.
        ArgumentError: no prim with meshes has the name of `base`; those that do are listed.

    Proof: tests/formats/usd/test_read.py, tests/formats/usd/test_apart.py
    """
    _refuse_other(path)
    found: FileMesh = _reader(os.getpid()).ask(path, "mesh", base)
    return found


def layer_files(path: Path) -> tuple[Path, ...]:
    """The files of all layers that a USD file is made of, beside itself.

    Raises:
        FileError: as for `read_usd`.
    """
    _refuse_other(path)
    return tuple(_reader(os.getpid()).ask(path, "layers", None))


def is_installed() -> bool:
    """Whether the library is there."""
    return find_spec(LIBRARY) is not None


def _refuse_other(path: Path) -> None:
    if not read_bytes(path).startswith(MARKS):
        raise FileError.of(path, "", "is no USD file", "Export it as .usd, .usda, .usdc or .usdz")
    if not is_installed():
        raise FileError.of(path, "", "is USD, which needs usd-core", INSTALL)


class UsdReader:
    """The process that reads; started when it is first asked, and again after it ended."""

    def __init__(self) -> None:
        self._child: subprocess.Popen[bytes] | None = None
        self._pipe: Connection | None = None
        self._lock = threading.Lock()
        self._owner = os.getpid()
        atexit.register(self.close)

    def ask(self, path: Path, what: str, base: str | None) -> Any:
        """Have it read something of a file.

        Raises:
            FileError, ArgumentError: as it refuses the file; or it died of it, or took too long.
        """
        with self._lock:
            pipe = self._started()
            try:
                pipe.send_bytes(pickle.dumps((os.fspath(path), what, base, memory_limit())))
                reply = self._reply(pipe)
            except (EOFError, OSError):
                self.close()
                raise FileError.of(path, "", "is damaged: the library ends when it reads it", AGAIN) from None
            except BaseException:  # interrupted: what comes later would answer the next question
                self.close()
                raise
            if reply is None:
                self.close()
                problem = f"took longer than {MOST_SECONDS:g} s to read"
                raise FileError.of(path, "", problem, f"{AGAIN}, or split it")
        outcome, answer = reply
        if outcome == "done":
            return answer
        text, function, argument = answer
        made = ArgumentError(text) if outcome == ArgumentError.__name__ else FileError(text)
        if isinstance(made, ArgumentError):
            made.function, made.argument = function, argument
        raise made

    def close(self) -> None:
        """End the process; one that was forked from its owner leaves it alone."""
        if self._owner != os.getpid():
            return
        if self._pipe is not None:
            self._pipe.close()
        if self._child is not None:
            self._child.kill()
            self._child.wait()
        self._child = self._pipe = None

    def _started(self) -> Connection:
        if self._pipe is None:
            ours, theirs = Pipe()
            words = [sys.executable, "-m", CHILD, str(theirs.fileno())]
            paths = os.pathsep.join(filter(None, (str(Path(__file__).parents[3]), os.environ.get("PYTHONPATH"))))
            self._child = subprocess.Popen(
                words,
                pass_fds=(theirs.fileno(),),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,  # what the library prints of a damaged file
                env={**os.environ, **FEW_THREADS, "PYTHONPATH": paths},
            )
            theirs.close()
            self._pipe = ours
        return self._pipe

    def _reply(self, pipe: Connection) -> tuple[str, Any] | None:
        """The answer, or None where it does not come in time."""
        end = time.monotonic() + MOST_SECONDS
        while not pipe.poll(LOOK):
            raise_if_interrupted()
            if time.monotonic() > end:
                return None
        reply: tuple[str, Any] = pickle.loads(pipe.recv_bytes())
        return reply


@cache
def _reader(process: int) -> UsdReader:
    """The reader of one process: one that was forked starts its own."""
    return UsdReader()
