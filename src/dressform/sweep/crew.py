"""The engine of this machine: processes that go on when one of them dies."""

import itertools
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import connection
from pathlib import Path
from typing import Any

from dressform.interrupts import raise_if_interrupted
from dressform.sweep.engine import TRIES, EngineTask, Follow, TaskLost
from dressform.sweep.staff import Job, StaffWorker, TaskDone, preloaded, shared_once_prepared
from dressform.sweep.starting import refuse_unguarded, starting


@dataclass(frozen=True)
class Processes:
    """Processes of this machine; one works in the caller's own.

    Attributes:
        workers: How many.
    """

    workers: int
    is_local: bool = True

    def run(self, job: Job, tasks: Iterable[EngineTask], follow: Follow) -> Generator[Any, None, None]:
        """See `Engine.run`. A task whose process dies is done by another one.

        Raises:
            ArgumentError: it runs while a process imports the caller's script.
        """
        if self.workers == 1:
            yield from _here(job, tasks, follow)
            return
        refuse_unguarded()
        rest = iter(tasks)
        if (first := next(rest, None)) is None:
            return
        with shared_once_prepared(job) as path, _crew(path, job) as crew:
            yield from crew.results(itertools.chain([first], rest), follow, self.workers)


def _here(job: Job, tasks: Iterable[EngineTask], follow: Follow) -> Iterator[Any]:
    """All tasks in this process, those that follow from one right after it."""
    run, rest = job.begin(), iter(tasks)
    next_ones: deque[EngineTask] = deque()
    while (task := next_ones.popleft() if next_ones else next(rest, None)) is not None:
        raise_if_interrupted()
        for found in run(task):
            next_ones.extend(follow(found))
            yield found


class _Crew:
    """The processes, what each is doing, and what waits."""

    def __init__(self, path: Path, modules: Sequence[str]) -> None:
        self._path, self._modules = path, modules
        self._doing: dict[StaffWorker, EngineTask] = {}
        self._waiting: deque[EngineTask] = deque()
        self._deaths: dict[str, int] = {}
        self.all: list[StaffWorker] = []

    def results(self, tasks: Iterable[EngineTask], follow: Follow, workers: int) -> Iterator[Any]:
        """What the tasks find. A process is started only where there is a task for it."""
        rest = iter(tasks)
        while True:
            idle = [worker for worker in self.all if worker not in self._doing]
            while len(self._doing) < workers and (task := self._next(rest)) is not None:
                worker = idle.pop() if idle else self._hired()
                self._doing[worker] = task
                worker.send(task)
            if not self._doing:
                return
            ready = connection.wait([worker.pipe for worker in self._doing])
            for worker in [one for one in self._doing if one.pipe in ready]:
                raise_if_interrupted()
                for found in self._heard(worker):
                    self._waiting.extend(follow(found))
                    yield found

    def _next(self, rest: Iterator[EngineTask]) -> EngineTask | None:
        return self._waiting.popleft() if self._waiting else next(rest, None)

    def _hired(self) -> StaffWorker:
        with starting():
            self.all.append(StaffWorker(self._path, self._modules))
        return self.all[-1]

    def _heard(self, worker: StaffWorker) -> Iterator[Any]:
        """What a process says; where it has died, its task waits again or is given up."""
        try:
            event = worker.pipe.recv()
        except (EOFError, ConnectionResetError):
            yield from self._buried(worker)
            return
        worker.was_heard = True
        if isinstance(event, TaskDone):
            del self._doing[worker]
        elif isinstance(event, Exception):
            raise event
        else:
            yield event

    def _buried(self, worker: StaffWorker) -> Iterator[Any]:
        task, error = self._doing.pop(worker), worker.lost()
        self.all.remove(worker)
        worker.end()
        if not worker.was_heard and worker.ended_badly:
            raise error
        self._deaths[task.name] = self._deaths.get(task.name, 0) + 1
        if self._deaths[task.name] < TRIES:
            self._waiting.append(task)
        else:
            yield TaskLost(task, str(error))


@contextmanager
def _crew(path: Path, job: Job) -> Iterator[_Crew]:
    crew = _Crew(path, preloaded(job))
    try:
        yield crew
    finally:
        for worker in crew.all:
            worker.end()
