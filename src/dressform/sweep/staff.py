"""Processes that share one job and work through its tasks; what they find comes as events."""

import os
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import connection
from pathlib import Path
from typing import Any, Protocol, runtime_checkable

from dressform.errors import DressformError
from dressform.interrupts import raise_if_interrupted
from dressform.sweep.starting import UNGUARDED, load_in_server, process_context, refuse_unguarded, starting
from dressform.sweep.store import open_shared, shared

WORTH_PREPARING = 32
"""A process joins the others at a garment that has at least this many shapes left: preparing a check takes as long as
measuring a few dozen shapes."""

LAST_WORDS = 5.0
"""Seconds that a stopped process is given to end."""


@runtime_checkable
class Task(Protocol):
    """A piece of a job, about one garment."""

    @property
    def garment(self) -> str:
        """The garment's key."""
        ...

    @property
    def size(self) -> int:
        """How many shapes it is."""
        ...


Run = Callable[[Any], Iterator[Any]]
"""Does a task and yields what is found."""


@runtime_checkable
class Job(Protocol):
    """What every process needs; it must be picklable."""

    def begin(self) -> Run:
        """What does its tasks, one after the other, in this process."""
        ...


@runtime_checkable
class PreparedJob(Job, Protocol):
    """A job of which something is worth preparing once, before processes share it."""

    def prepared(self) -> Job:
        """The same with all that its processes would each prepare anew."""
        ...


@dataclass(frozen=True)
class GarmentFailed:
    """A garment cannot be worked on; its other tasks are not given out."""

    garment: str
    error: DressformError


@dataclass(frozen=True)
class TaskDone:
    """A task is finished."""


def run_tasks(job: Job, tasks: Sequence[Task], *, workers: int) -> Generator[Any, None, None]:
    """All tasks, in this process if there is one worker or one task, else in several as `run_spread` does."""
    if workers > 1 and len(tasks) > 1:
        yield from run_spread(job, tasks, workers=workers)
    else:
        run = job.begin()
        for task in tasks:
            yield from run(task)


def run_spread(job: Job, tasks: Sequence[Task], *, workers: int) -> Generator[Any, None, None]:
    """All tasks in `workers` processes; events come as they happen, in no fixed order.

    Processes are never forked from the caller's: compiled code and its threads do not survive a fork. They are spawned
    or, on Linux, forked from a server that has run nothing and has one thread. When the caller stops
    listening, by an error or by Ctrl-C, they are ended at once.

    Args:
        job: What all processes need; its arrays are mapped, not copied.
        tasks: What is to be done. A process keeps to one garment as long as it has tasks.
        workers: Processes.

    Raises:
        DressformError: a process ended without a word. Errors of a process are raised here as they were there.
    """
    refuse_unguarded()
    queue = _Queue(tasks)
    with shared_once_prepared(job) as path, _staff(path, preloaded(job), min(workers, len(tasks))) as staff:
        for worker in staff:
            queue.assign(worker, staff)
        while busy := [worker for worker in staff if worker.garment is not None]:
            ready = connection.wait([worker.pipe for worker in busy])
            for worker in (worker for worker in busy if worker.pipe in ready):
                raise_if_interrupted()
                event = worker.receive()
                if isinstance(event, TaskDone):
                    queue.assign(worker, staff)
                    continue
                if isinstance(event, GarmentFailed):
                    queue.drop(event.garment)
                yield event


class StaffWorker:
    """A process with the pipe to it, and the garment that it is measuring.

    Args:
        path: Where its job lies.
        modules: What it needs before all else.
    """

    def __init__(self, path: Path, modules: Sequence[str]) -> None:
        context = process_context(modules)
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=_serve, args=(theirs, path, dict(os.environ)), daemon=True)
        self.garment: str | None = None
        self.was_heard = False
        self.process.start()
        theirs.close()

    def give(self, task: Task) -> None:
        """Hand over a task."""
        self.garment = task.garment
        try:
            self.pipe.send(task)
        except (BrokenPipeError, ConnectionResetError) as error:
            raise self.lost() from error

    def receive(self) -> Any:
        """The next event; an error of the process is raised here."""
        try:
            event = self.pipe.recv()
        except (EOFError, ConnectionResetError) as error:
            raise self.lost() from error
        self.was_heard = True
        if isinstance(event, Exception):
            raise event
        return event

    def lost(self) -> DressformError:
        """Why it ended without a word: a script that cannot be imported gives a code of its own, memory a signal."""
        self.process.join(LAST_WORDS)
        code = self.process.exitcode
        if self.ended_badly and not self.was_heard:
            return DressformError(f"run_spread: a process ended before it began, exit code {code}. {UNGUARDED}.")
        return DressformError(
            f"run_spread: a process ended without a word at {self.garment!r}, exit code {code}. "
            "Most often memory ran out: use fewer processes."
        )

    @property
    def ended_badly(self) -> bool:
        """Whether it ended by an exit code of its own, not by a signal."""
        code = self.process.exitcode
        return code is not None and code > 0

    def send(self, task: object) -> None:
        """Hand over a task; that the process has died is noticed where it is listened to."""
        with suppress(BrokenPipeError, ConnectionResetError):
            self.pipe.send(task)

    def end(self) -> None:
        """End the process, even if it is busy."""
        self.pipe.close()
        self.process.terminate()
        self.process.join(LAST_WORDS)


class _Queue:
    """Waiting tasks, by garment. A process keeps to one garment, since its check for it is already prepared."""

    def __init__(self, tasks: Sequence[Task]) -> None:
        self._waiting: dict[str, deque[Task]] = {}
        for task in tasks:
            self._waiting.setdefault(task.garment, deque()).append(task)

    def assign(self, worker: StaffWorker, staff: Sequence[StaffWorker]) -> None:
        """Give a worker its next task, or leave it idle."""
        garment = self._choose(worker.garment, [other.garment for other in staff if other is not worker])
        if garment is None:
            worker.garment = None
        else:
            worker.give(self._waiting[garment].popleft())

    def drop(self, garment: str) -> None:
        """Give out no more tasks of a garment."""
        self._waiting[garment].clear()

    def _choose(self, current: str | None, others: Sequence[str | None]) -> str | None:
        """The garment that a worker should go on with."""
        left = {garment: sum(task.size for task in tasks) for garment, tasks in self._waiting.items()}
        if current is not None and left[current]:
            return current
        alone = [garment for garment, count in left.items() if count and garment not in others]
        if alone:
            return alone[0]
        shares = {garment: count / (1 + others.count(garment)) for garment, count in left.items()}
        best = max(shares, key=shares.__getitem__)
        return best if shares[best] >= WORTH_PREPARING else None


@contextmanager
def _staff(path: Path, modules: Sequence[str], count: int) -> Iterator[list[StaffWorker]]:
    """Worker processes that open the job at `path`; ended when the context ends."""
    staff: list[StaffWorker] = []
    try:
        with starting():
            for _ in range(count):
                staff.append(StaffWorker(path, modules))
        yield staff
    finally:
        for worker in staff:
            worker.end()


def preloaded(job: Job) -> tuple[str, ...]:
    """Modules that a process needs before all else: that of the job, and those that it names as its `preload`."""
    return (type(job).__module__, *getattr(job, "preload", ()))


@contextmanager
def shared_once_prepared(job: Job) -> Iterator[Path]:
    """The job as `shared` writes it, prepared while the server of the processes loads what they need."""
    start_server(job)
    with shared(job.prepared() if isinstance(job, PreparedJob) else job) as path:
        yield path


def start_server(job: Job) -> None:
    """Begin to load what processes for a job need, where they are forked from a server; returns at once.

    Raises: As `refuse_unguarded`.
    """
    refuse_unguarded()
    load_in_server(preloaded(job))


def _serve(pipe: connection.Connection, path: Path, environment: dict[str, str]) -> None:
    """Run a worker process: do the tasks from the pipe until it closes."""
    os.environ.clear()  # that of a server is as old as the server
    os.environ.update(environment)
    try:
        job: Job = open_shared(path)
        run = job.begin()
        while True:
            for event in run(pipe.recv()):
                pipe.send(event)
            pipe.send(TaskDone())
    except (EOFError, ConnectionError):  # the parent process has gone
        return
    except Exception as error:  # any error must reach the parent process
        pipe.send(error)
