"""Memory that tests leave behind: found when it has grown, and given back.

Garments and what was seen of them hold each other, so only a search for rubbish lets them go; and the interpreter
searches by the number of objects, not by their size.
"""

import ctypes
import gc
import os
import sys

PAGE = os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 0
ENOUGH = 600e6
"""Bytes that a process of tests may hold before anybody looks for rubbish."""
GROWN = 1.2
"""How much more than what was left last time is worth another search."""


class Leftovers:
    """What this process holds."""

    def __init__(self) -> None:
        self._most = ENOUGH

    def release(self, *, at_once: bool = False) -> None:
        """Let go of rubbish where memory has grown, or at once."""
        if not at_once and resident() < self._most:
            return
        gc.collect()
        if sys.platform == "linux":
            ctypes.CDLL(None).malloc_trim(0)
        self._most = max(ENOUGH, GROWN * resident())


def resident() -> float:
    """Bytes of memory in use by this process; 0 where that is not told."""
    if sys.platform != "linux":
        return 0.0
    with open("/proc/self/statm", encoding="ascii") as counts:
        return float(counts.read().split()[1]) * PAGE
