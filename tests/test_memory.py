"""What tests leave in memory is let go."""

import weakref

import numpy as np
import pytest

import memory
from memory import Leftovers


class Held:
    """Holds itself, and much else."""

    def __init__(self) -> None:
        self.itself, self.much = self, np.zeros(1000)


def left() -> "weakref.ref[Held]":
    return weakref.ref(Held())


def test_what_holds_itself_is_let_go_where_memory_has_grown_and_only_there(monkeypatch: pytest.MonkeyPatch) -> None:
    memory.gc.disable()
    try:
        leftovers, seen = Leftovers(), left()
        monkeypatch.setattr(memory, "resident", lambda: 0.9 * memory.ENOUGH)
        leftovers.release()
        assert seen() is not None
        monkeypatch.setattr(memory, "resident", lambda: 3.0 * memory.ENOUGH)
        leftovers.release()
        assert seen() is None
        seen = left()
        monkeypatch.setattr(memory, "resident", lambda: 3.5 * memory.ENOUGH)
        leftovers.release()  # a fifth more than was left is not there yet
        assert seen() is not None
        leftovers.release(at_once=True)
        assert seen() is None
    finally:
        memory.gc.enable()
