"""Measuring in this process or in several; both return the same events."""

import os
import signal
from collections import deque
from collections.abc import Generator, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import connection, current_process, get_context, resource_tracker
from pathlib import Path
from time import perf_counter

import numpy as np
from jaxtyping import Float

from dressform.errors import ArgumentError, DressformError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import Bands
from dressform.faults.wardrobe import Wardrobe, plain_wardrobe
from dressform.fit.fit import Fit
from dressform.interrupts import raise_if_interrupted
from dressform.sweep.store import open_shared, shared

BATCH = 4
"""Shapes that a process is given at a time: enough that asking costs nothing, few enough that all end together."""

WORTH_PREPARING = 32
"""A process joins the others at a garment that has at least this many shapes left: preparing a check takes as long as
measuring a few dozen shapes."""

THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "NUMBA_NUM_THREADS")
"""Every process keeps to one thread; several processes with several threads each only wait for one another."""

UNGUARDED = (
    "Every process imports the script that asked for it, so put what the script does under "
    '`if __name__ == "__main__":`, or use one worker'
)
"""What to do about a script that does its work on import."""

LAST_WORDS = 5.0
"""Seconds that a stopped process is given to end."""


@dataclass(frozen=True)
class SweepJob:
    """The data that every process needs.

    Attributes:
        fits: Garments by key. A body that several of them share is one object, so that processes get it once.
        bands: From which value on a fault is slight, moderate, grave.
        under: Per garment the keys of the garments worn under it.
    """

    fits: Mapping[str, Fit]
    bands: Bands
    under: Mapping[str, Sequence[str]]


@dataclass(frozen=True)
class Batch:
    """Shapes of one garment: their places in the caller's list, (S,), and their weights, (S, K)."""

    garment: str
    places: tuple[int, ...]
    weights: Float[np.ndarray, "S K"]


@dataclass(frozen=True)
class CheckPrepared:
    """A check was prepared."""

    garment: str
    seconds: float


@dataclass(frozen=True)
class ShapeMeasured:
    """A shape was measured."""

    garment: str
    place: int
    faults: ShapeFaults
    seconds: float


@dataclass(frozen=True)
class Done:
    """A batch is finished."""


Event = CheckPrepared | ShapeMeasured | Done


class BatchMeasurer:
    """Measures batches one after the other.

    Args:
        job: The garments, bands and layers.
        wardrobe: Garments prepared earlier; without it only the last one prepared is kept.
    """

    def __init__(self, job: SweepJob, wardrobe: Wardrobe[GarmentOnBody] | None = None) -> None:
        self._job = job
        self._garment: str | None = None
        self._wardrobe = wardrobe or plain_wardrobe(bands=job.bands, kept=1)

    def run(self, batch: Batch) -> Iterator[Event]:
        """Events of one batch, the last of them `Done`."""
        job = self._job
        under = [job.fits[key] for key in job.under.get(batch.garment, ())]
        worn = self._wardrobe.worn(job.fits[batch.garment], under=under)
        if self._garment != batch.garment:
            start = perf_counter()
            worn.prepare()
            self._garment = batch.garment
            yield CheckPrepared(batch.garment, perf_counter() - start)
        for place, weights in zip(batch.places, batch.weights):
            raise_if_interrupted()
            start = perf_counter()
            faults = worn.measure(weights)
            yield ShapeMeasured(batch.garment, place, faults, perf_counter() - start)
        yield Done()


def measure_here(
    job: SweepJob, batches: Sequence[Batch], wardrobe: Wardrobe[GarmentOnBody] | None = None
) -> Generator[Event, None, None]:
    """All batches in this process."""
    measurer = BatchMeasurer(job, wardrobe)
    for batch in batches:
        yield from measurer.run(batch)


def measure_spread(job: SweepJob, batches: Sequence[Batch], *, workers: int) -> Generator[Event, None, None]:
    """All batches in `workers` processes; events come as they happen, in no fixed order.

    Processes are spawned, never forked: compiled code and its threads do not survive a fork. When the caller stops
    listening, by an error or by Ctrl-C, they are ended at once.

    Raises:
        DressformError: a process ended without a word. Errors of a process are raised here as they were there.
    """
    if getattr(current_process(), "_inheriting", False):  # this is a worker that imports the script of the caller
        observed = "called while the script was imported by one of its processes"
        raise ArgumentError.of("check", "workers", "1 in a script that runs when it is imported", observed, UNGUARDED)
    queue = _Queue(batches)
    with shared(job) as path, _staff(path, min(workers, len(batches))) as staff:
        for worker in staff:
            queue.assign(worker, staff)
        while busy := [worker for worker in staff if worker.garment is not None]:
            ready = connection.wait([worker.pipe for worker in busy])
            for worker in (worker for worker in busy if worker.pipe in ready):
                raise_if_interrupted()
                event = worker.receive()
                if isinstance(event, Done):
                    queue.assign(worker, staff)
                yield event


class _Worker:
    """A process with the pipe to it, and the garment that it is measuring."""

    def __init__(self, path: Path) -> None:
        context = get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=_serve, args=(theirs, path), daemon=True)
        self.garment: str | None = None
        self.was_heard = False
        self.process.start()
        theirs.close()

    def give(self, batch: Batch) -> None:
        """Hand over a batch."""
        self.garment = batch.garment
        try:
            self.pipe.send(batch)
        except (BrokenPipeError, ConnectionResetError) as error:
            raise self._lost() from error

    def receive(self) -> Event:
        """The next event; an error of the process is raised here."""
        try:
            event: Event | Exception = self.pipe.recv()
        except (EOFError, ConnectionResetError) as error:
            raise self._lost() from error
        self.was_heard = True
        if isinstance(event, Exception):
            raise event
        return event

    def _lost(self) -> DressformError:
        """Why it ended without a word: a script that cannot be imported gives a code of its own, memory a signal."""
        self.process.join(LAST_WORDS)
        code = self.process.exitcode
        if code is not None and code > 0 and not self.was_heard:
            return DressformError(f"measure_spread: a process ended before it began, exit code {code}. {UNGUARDED}.")
        return DressformError(
            f"measure_spread: a process ended without a word at {self.garment!r}, exit code {code}. "
            "Most often memory ran out: use fewer processes."
        )

    def end(self) -> None:
        """End the process, even if it is busy."""
        self.pipe.close()
        self.process.terminate()
        self.process.join(LAST_WORDS)


class _Queue:
    """Waiting batches, by garment. A process keeps to one garment, since its check for it is already prepared."""

    def __init__(self, batches: Sequence[Batch]) -> None:
        self._waiting: dict[str, deque[Batch]] = {}
        for batch in batches:
            self._waiting.setdefault(batch.garment, deque()).append(batch)

    def assign(self, worker: _Worker, staff: Sequence[_Worker]) -> None:
        """Give a worker its next batch, or leave it idle."""
        garment = self._choose(worker.garment, [other.garment for other in staff if other is not worker])
        if garment is None:
            worker.garment = None
        else:
            worker.give(self._waiting[garment].popleft())

    def _choose(self, current: str | None, others: Sequence[str | None]) -> str | None:
        """The garment that a worker should go on with."""
        left = {garment: sum(len(batch.places) for batch in batches) for garment, batches in self._waiting.items()}
        if current is not None and left[current]:
            return current
        alone = [garment for garment, count in left.items() if count and garment not in others]
        if alone:
            return alone[0]
        shares = {garment: count / (1 + others.count(garment)) for garment, count in left.items()}
        best = max(shares, key=shares.__getitem__)
        return best if shares[best] >= WORTH_PREPARING else None


@contextmanager
def _staff(path: Path, count: int) -> Iterator[list[_Worker]]:
    """Worker processes that open the job at `path`; ended when the context ends."""
    staff: list[_Worker] = []
    try:
        with _one_thread_each(), _deaf_to_interrupts():
            for _ in range(count):
                staff.append(_Worker(path))
        yield staff
    finally:
        for worker in staff:
            worker.end()


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


def _serve(pipe: connection.Connection, path: Path) -> None:
    """Run a worker process: measure the batches from the pipe until it closes."""
    try:
        measurer = BatchMeasurer(open_shared(path))
        while True:
            for event in measurer.run(pipe.recv()):
                pipe.send(event)
    except (EOFError, ConnectionError):  # the parent process has gone
        return
    except Exception as error:  # any error must reach the parent process
        pipe.send(error)
