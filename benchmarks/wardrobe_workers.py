"""What worker processes did while a wardrobe was checked, as the kernel counts it (Linux).

On a machine that other work shares, seconds by the clock tell of that work. So three times are kept apart for each
worker: on a processor; ready, while others were on it; and neither, which is what is lost when work is spread badly.
"""

import os
import threading
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing import forkserver
from pathlib import Path
from types import TracebackType

PROC = Path("/proc")
LOOK = 0.05
"""How often workers are looked at, seconds."""
TICKS = os.sysconf("SC_CLK_TCK")
NANO = 1e-9
TRIFLE = 0.2
"""A process with less processor time, in seconds, is no worker."""


@dataclass(frozen=True)
class WorkerTimes:
    """Seconds of one worker.

    Attributes:
        since: When it was started, since the machine was.
        worked: On a processor.
        ready: Ready to work, while other processes were on the processors.
    """

    since: float
    worked: float
    ready: float


@dataclass(frozen=True)
class Spent:
    """What a run took of a machine, seconds.

    Attributes:
        alone: Processor time of the process that asked.
        before: What of it went before the first worker was there.
        worked: Processor time of all workers.
        idle: Time of all workers in which they neither worked nor were ready to, up to the end of the run.
        workers: How many there were.
        garments: How many were checked, where whoever asks counts them.
    """

    alone: float = 0.0
    before: float = 0.0
    worked: float = 0.0
    idle: float = 0.0
    workers: int = 0
    garments: int = 0

    @property
    def busy(self) -> float:
        """Processor time of all."""
        return self.alone + self.worked

    @property
    def taken(self) -> float:
        """Seconds of as many processors as there are workers, were nothing else on the machine."""
        return self.workers * self.before + self.worked + self.idle


class WatchedWorkers:
    """Looks at the workers as long as its block runs; then `spent` has what they took."""

    def __init__(self) -> None:
        self.spent = Spent()
        self._seen: dict[int, WorkerTimes] = {}
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)
        self._start = self._before = self._watching = 0.0

    def __enter__(self) -> "WatchedWorkers":
        self._start = process_seconds()
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._over.set()
        self._thread.join()
        end, alone = uptime(), process_seconds() - self._start - self._watching
        workers = [one for one in self._seen.values() if one.worked > TRIFLE]
        worked, ready = sum(one.worked for one in workers), sum(one.ready for one in workers)
        idle = sum(end - one.since for one in workers) - worked - ready
        self.spent = Spent(alone, self._before if workers else alone, worked, max(idle, 0.0), len(workers))

    def _watch(self) -> None:
        server = forkserver._forkserver  # type: ignore[attr-defined]
        while not self._over.wait(LOOK):
            for child in children(server._forkserver_pid or 0):
                with suppress(OSError, ValueError, IndexError):
                    self._seen[child] = times_of(child)
            if not self._seen:
                self._before = process_seconds() - self._start
        self._watching = thread_seconds()


def children(process: int) -> list[int]:
    """Processes that one has started and that are there."""
    with suppress(OSError, ValueError):
        return [int(one) for one in (PROC / f"{process}/task/{process}/children").read_text().split()]
    return []


def times_of(process: int) -> WorkerTimes:
    """What a process has spent so far."""
    worked, ready = (int(one) * NANO for one in (PROC / f"{process}/schedstat").read_text().split()[:2])
    fields = (PROC / f"{process}/stat").read_text().rsplit(")", 1)[1].split()
    return WorkerTimes(int(fields[19]) / TICKS, worked, ready)


def uptime() -> float:
    """Seconds since the machine was started."""
    return float((PROC / "uptime").read_text().split()[0])


def process_seconds() -> float:
    """Processor time of this process."""
    times = os.times()
    return times.user + times.system


def thread_seconds() -> float:
    """Processor time of this thread."""
    return int((PROC / "thread-self/schedstat").read_text().split()[0]) * NANO
