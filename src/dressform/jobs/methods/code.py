"""Somebody's code as a method: called in a process of its own, so that nothing it does can hurt a check."""

import atexit
import itertools
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from functools import cache
from importlib import metadata
from multiprocessing.connection import Connection, Pipe

from dressform.errors import ArgumentError, MethodError
from dressform.garment.methods import METHOD_RULE, is_method
from dressform.interrupts import raise_if_interrupted

GROUP = "dressform.methods"
"""Entry points of this group are methods by their names."""
TIME_LIMIT = 60.0
"""Seconds that one call of somebody's code may take, where nothing else is said."""
LOOK = 0.1
"""How often it is looked whether the program was interrupted meanwhile, seconds."""
STARTING = 60.0
"""Seconds that starting the process may take before the first call."""

_limit = TIME_LIMIT


def set_time_limit(seconds: float) -> None:
    """Let one call of somebody's code take so many seconds.

    Raises:
        ArgumentError: it is no number above 0.
    """
    global _limit
    if not seconds > 0:
        raise ArgumentError.of("check", "time_limit", "above 0 s", f"{seconds:g}", "Give for instance 60")
    _limit = float(seconds)


def method_of(function: str, name: str) -> str:
    """A method by its name: an entry point of `dressform.methods` stands for its `module:function`.

    Args:
        function: What was called, for the message.
        name: The name that was given.

    Raises:
        ArgumentError: there is no such method; those that there are are listed.
    """
    if is_method(name):
        return name
    found = metadata.entry_points(group=GROUP)
    named = {one.name: one.value for one in found}
    if name not in named:
        installed = f" (installed: {', '.join(sorted(named))})" if named else ""
        raise ArgumentError.of(function, "method", f"{METHOD_RULE}{installed}", repr(name), "Use one of these")
    return named[name].split("[")[0].strip()


class Code:
    """One function of somebody's, in a process of its own; started when it is first called, and again after it ended.

    Args:
        name: `module:function`, or `file.py:function`.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.starts = 0
        self._numbers = itertools.count()
        self._child: subprocess.Popen[bytes] | None = None
        self._pipe: Connection | None = None
        atexit.register(self.close)

    @property
    def is_running(self) -> bool:
        """Whether its process is there."""
        return self._child is not None and self._child.poll() is None

    def next_number(self) -> int:
        """A number for one more fit."""
        return next(self._numbers)

    def call(self, what: str, *given: object) -> object:
        """Have the process do something.

        Raises:
            MethodError: the code failed, took too long, or its process ended; the message says which, and where.
        """
        is_new = self._child is None
        pipe = self._started()
        try:
            ready = self._reply(pipe, STARTING) if is_new else ("ready", None)
            pipe.send((what, given))
            reply = None if ready is None else self._reply(pipe, _limit)
        except (EOFError, OSError):
            raise MethodError.of(
                self.name, f"ended its process ({self._ending()})", "Run it by itself to see why"
            ) from None
        if reply is None:
            self.close()
            problem = f"took longer than {_limit:g} s for one call and was stopped"
            raise MethodError.of(self.name, problem, "Give it longer with --time-limit, or make it faster")
        outcome, answer = reply
        if outcome == "failed":
            raise MethodError.of(self.name, f"failed: {answer}", "Mend it and run again")
        return answer

    def close(self) -> None:
        """End the process."""
        if self._pipe is not None:
            self._pipe.close()
        if self._child is not None:
            self._child.kill()
            self._child.wait()
        self._child = self._pipe = None

    def _started(self) -> Connection:
        if self._pipe is None:
            ours, theirs = Pipe()
            words = [sys.executable, "-m", "dressform.jobs.methods.code_child", str(theirs.fileno()), self.name]
            # What somebody's code prints goes to stderr: results alone go to stdout.
            child = subprocess.Popen(words, pass_fds=(theirs.fileno(),), stdin=subprocess.DEVNULL, stdout=2)
            theirs.close()
            self._pipe, self._child = ours, child
            self.starts += 1
        return self._pipe

    def _reply(self, pipe: Connection, allowed: float) -> Sequence[object] | None:
        """The answer, or None where it does not come in time."""
        end = time.monotonic() + allowed
        while not pipe.poll(LOOK):
            raise_if_interrupted()
            if time.monotonic() > end:
                return None
        reply: Sequence[object] = pipe.recv()
        return reply

    def _ending(self) -> str:
        """How the process ended, for a person."""
        code = self._child.wait() if self._child is not None else 0
        self.close()
        return signal.Signals(-code).name if code < 0 else f"exit code {code}"


@cache
def code_of(name: str) -> Code:
    """The one process of a method; garments share it."""
    return Code(name)
