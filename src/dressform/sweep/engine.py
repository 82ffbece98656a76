"""An engine does tasks of one job somewhere: in processes of this machine, or on a cluster."""

from collections.abc import Callable, Generator, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol, runtime_checkable

from dressform.errors import ArgumentError
from dressform.sweep.staff import Job

PROCESSES, DASK, ADDRESS = "processes", "dask", "tcp://"
ENGINES = f"{PROCESSES}, {DASK} or {ADDRESS}HOST:PORT"
TRIES = 3
"""A task at which so many processes have ended is given up."""


@runtime_checkable
class EngineTask(Protocol):
    """A task that an engine can give to any process, again if need be: what it finds depends on it alone."""

    @property
    def name(self) -> str:
        """Tells it from all other tasks of a job."""
        ...


@dataclass(frozen=True)
class TaskLost:
    """A task was given up: every process that tried it ended without a word.

    Attributes:
        task: The task.
        reason: How the last one ended.
    """

    task: EngineTask
    reason: str


Follow = Callable[[Any], Sequence[EngineTask]]
"""Called with every result; the tasks that it makes possible."""


@runtime_checkable
class Engine(Protocol):
    """Where tasks are done."""

    @property
    def workers(self) -> int:
        """How many tasks are done at a time."""
        ...

    @property
    def is_local(self) -> bool:
        """Whether its processes see the files of this machine."""
        ...

    def run(self, job: Job, tasks: Iterable[EngineTask], follow: Follow) -> Generator[Any, None, None]:
        """Do all tasks, and those that follow from their results; what each finds, in no fixed order.

        Args:
            job: What every process needs; each gets it once.
            tasks: Asked for one at a time, as processes become free.
            follow: See `Follow`.
        """
        ...


def refuse_engine(text: object) -> str:
    """The name of an engine.

    Raises:
        ArgumentError: there is no such engine.
    """
    if isinstance(text, str) and (text in (PROCESSES, DASK) or (text.startswith(ADDRESS) and len(text) > len(ADDRESS))):
        return text
    raise ArgumentError.of("check", "engine", ENGINES, repr(text), "Use one of these")
