"""Background work: named threads, progress reports and cancelling.

The kernels hold no lock while they compute, so a thread is enough for work that must not hold up a slider. Threads are
daemons: Ctrl-C waits for none of them, and what they write appears whole or not at all.
"""

import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from queue import SimpleQueue
from typing import Any, TypeVar

from dressform.errors import DressformError

TELL_EVERY = 0.15
"""Seconds between two words on how far work has come."""

Answer = TypeVar("Answer")
Tell = Callable[[int, int, str], None]


class Cancelled(DressformError):
    """The work was cancelled."""


class BackgroundJob:
    """One piece of work that reports progress and can be cancelled.

    Args:
        tell: Called with how much is done, of how much (0 where nobody knows), and what is being done; from the thread
            of the work, no more often than every `TELL_EVERY` seconds.
    """

    def __init__(self, tell: Tell | None = None) -> None:
        self._tell = tell
        self._off = threading.Event()
        self._next = 0.0

    def cancel(self) -> None:
        """Cancel the work; it ends at its next step."""
        self._off.set()

    @property
    def cancelled(self) -> bool:
        """Whether it was cancelled."""
        return self._off.is_set()

    def step(self, done: int, of: int, words: str) -> None:
        """Report how far the work has come.

        Raises:
            Cancelled: it was called off.
        """
        if self.cancelled:
            raise Cancelled("The work was called off.")
        now = time.monotonic()
        if self._tell is not None and (now >= self._next or done == of):
            self._next = now + TELL_EVERY
            self._tell(done, of, words)

    def steps(self, words: str) -> Callable[[int, int], None]:
        """The same for work that calls back with two numbers."""
        return lambda done, of: self.step(done, of, words)


class Worker:
    """One thread that does one piece of work after the other, in the order in which they were given."""

    def __init__(self, name: str) -> None:
        self._queue: SimpleQueue[tuple[Future[Any], Callable[[], Any]]] = SimpleQueue()
        threading.Thread(target=self._run, name=f"dressform {name}", daemon=True).start()

    def submit(self, task: Callable[[], Answer]) -> Future[Answer]:
        """Queue the task; the future gets its result or exception."""
        future: Future[Answer] = Future()
        self._queue.put((future, task))
        return future

    def _run(self) -> None:
        while True:
            future, task = self._queue.get()
            if not future.set_running_or_notify_cancel():
                continue
            try:
                future.set_result(task())
            except BaseException as problem:
                future.set_exception(problem)
            # Keep no reference to a finished task while waiting for the next.
            del future, task
