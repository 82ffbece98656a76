"""How processes start: forked from a server where the system forks safely, with one thread each, deaf to Ctrl-C."""

import os
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from multiprocessing import current_process, forkserver, get_context, resource_tracker
from typing import Any

from dressform.errors import ArgumentError

THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
"""Every process keeps to one thread; several processes with several threads each only wait for one another."""

UNGUARDED = (
    "Every process imports the script that asked for it, so put what the script does under "
    '`if __name__ == "__main__":`, or use one worker'
)
"""What to do about a script that does its work on import."""


def refuse_unguarded() -> None:
    """Refuse to start processes of a process that is still importing the script of the caller.

    Raises:
        ArgumentError: it is such a process.
    """
    if getattr(current_process(), "_inheriting", False):
        observed = "called while the script was imported by one of its processes"
        raise ArgumentError.of("check", "workers", "1 in a script that runs when it is imported", observed, UNGUARDED)


def process_context(modules: Sequence[str]) -> Any:
    """How processes are started: from a server that has loaded what they need, where the system forks safely."""
    if sys.platform != "linux":
        return get_context("spawn")
    context = get_context("forkserver")
    context.set_forkserver_preload(list(modules))  # the first call of a program counts
    return context


def load_in_server(modules: Sequence[str]) -> None:
    """Start the server that processes are forked from, where there is one, and have it import these; do not wait."""
    if sys.platform == "linux":
        process_context(modules)
        with starting():
            forkserver.ensure_running()


@contextmanager
def starting() -> Iterator[None]:
    """In this context processes are started: with one thread each, and deaf to Ctrl-C."""
    with _one_thread_each(), _deaf_to_interrupts():
        yield


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Limit the numeric libraries of processes started in this context to one thread."""
    before = {name: os.environ.get(name) for name in THREAD_LIMITS}
    os.environ.update(dict.fromkeys(THREAD_LIMITS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextmanager
def _deaf_to_interrupts() -> Iterator[None]:
    """Keep Ctrl-C from processes started in this context: the parent receives it and ends them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    # The tracker that the first spawned process starts would lift the block again, so it is started before.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
