"""Ctrl-C that is never lost.

Python turns the signal into `KeyboardInterrupt` wherever the program happens to be. Where that is inside the machinery
round compiled code, a finaliser or a callback, the exception is swallowed or comes out as another one. So the program
notes that the signal came, and asks at the doors of its kernels and between the shapes of a sweep. Where compiled code
or a compiler does not come back in time, a thread that waits beside it ends the program.
"""

import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType

PATIENCE = 2.5
"""Seconds from the signal to the end of the program, at most."""
_came = False
_is_ordinary = False


@contextmanager
def heard_interrupts(*, or_else: Callable[[], None] | None = None) -> Iterator[None]:
    """While the block runs, an interrupt that gets lost is raised again by `raise_if_interrupted`.

    An error that comes out instead of an interrupt becomes one again. Does nothing outside the main thread, or where
    interrupts are handled by somebody else. A second Ctrl-C is raised like the first.

    Args:
        or_else: Called from another thread where the block has not ended `PATIENCE` seconds after the signal; it must
            end the process.
    """
    global _came
    is_main = threading.current_thread() is threading.main_thread()
    if not is_main or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _note)
    try:
        with _watched(or_else):
            yield
            raise_if_interrupted()
    except Exception as problem:
        if _came:
            raise KeyboardInterrupt from problem
        raise
    finally:
        _came = False
        signal.signal(signal.SIGINT, signal.default_int_handler)


@contextmanager
def ended_by_interrupt() -> Iterator[None]:
    """While the block runs, an interrupt is its ordinary ending, and nothing is raised for it afterwards."""
    global _came, _is_ordinary
    _is_ordinary = True
    with suppress(KeyboardInterrupt):
        yield
    _came = _is_ordinary = False


def raise_if_interrupted() -> None:
    """Raise the interrupt that came and got lost; in the main thread only.

    Raises:
        KeyboardInterrupt: an interrupt came since `heard_interrupts` began.
    """
    if _came and threading.current_thread() is threading.main_thread():
        raise KeyboardInterrupt


def _note(signum: int, frame: FrameType | None) -> None:
    global _came
    _came = True
    raise KeyboardInterrupt


@contextmanager
def _watched(or_else: Callable[[], None] | None) -> Iterator[None]:
    """Let a thread wait beside the block; Python tells it of the signal even while compiled code runs."""
    if or_else is None:
        yield
        return
    ended = threading.Event()
    ours, pythons = os.pipe()
    os.set_blocking(pythons, False)
    before = signal.set_wakeup_fd(pythons, warn_on_full_buffer=False)
    watcher = threading.Thread(target=_watch, args=(ours, ended, or_else), daemon=True)
    watcher.start()
    try:
        yield
    finally:
        ended.set()
        signal.set_wakeup_fd(before)
        os.close(pythons)
        watcher.join()
        os.close(ours)


def _watch(told: int, ended: threading.Event, or_else: Callable[[], None]) -> None:
    while number := os.read(told, 1):
        if number[0] == signal.SIGINT and not _is_ordinary and not ended.wait(PATIENCE):
            or_else()
