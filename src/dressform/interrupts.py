"""Ctrl-C that is never lost.

Python turns the signal into `KeyboardInterrupt` wherever the program happens to be. Where that is inside the machinery
round compiled code, a finaliser or a callback, the exception is swallowed or comes out as another one. So the program
notes that the signal came, and asks at the doors of its kernels and between the shapes of a sweep.
"""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

_came = False


@contextmanager
def heard_interrupts() -> Iterator[None]:
    """While the block runs, an interrupt that gets lost is raised again by `raise_if_interrupted`.

    Does nothing outside the main thread, or where interrupts are handled by somebody else. A second Ctrl-C is raised
    like the first.
    """
    global _came
    is_main = threading.current_thread() is threading.main_thread()
    if not is_main or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    signal.signal(signal.SIGINT, _note)
    try:
        yield
        raise_if_interrupted()
    finally:
        _came = False
        signal.signal(signal.SIGINT, signal.default_int_handler)


@contextmanager
def ended_by_interrupt() -> Iterator[None]:
    """While the block runs, an interrupt is its ordinary ending, and nothing is raised for it afterwards."""
    global _came
    with suppress(KeyboardInterrupt):
        yield
    _came = False


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
