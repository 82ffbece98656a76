"""The engine of several machines: tasks on a cluster of dask.distributed, one started here or one that is there.

Settings, and why: the scheduler gives up a task only after five workers have died at it; workers hand memory back late,
since handing it back at every shape slows every shape. What is found goes to the caller task by
task, so a scheduler that is started again costs what was under way and nothing else.
"""

import hashlib
import os
import pickle
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

from dressform.errors import ArgumentError, DressformError
from dressform.interrupts import raise_if_interrupted
from dressform.sweep.engine import ADDRESS, DASK, EngineTask, Follow, TaskLost, refuse_engine
from dressform.sweep.staff import Job
from dressform.sweep.starting import THREAD_LIMITS

AHEAD = 2
"""So many tasks for each worker are on the cluster at a time; the others stay here."""
POLL = 0.02
"""Seconds between two looks at what has come."""
CONNECT = 10.0
"""Seconds that a first connection may take."""
PATIENCE = 600.0
"""Seconds that a scheduler may be away before the run ends; what is done is kept."""
LATE_TRIM = 1 << 30
SETTINGS = {
    "distributed.scheduler.allowed-failures": 5,
    "distributed.admin.large-graph-warning-threshold": "1GiB",
    "distributed.nanny.pre-spawn-environ.MALLOC_TRIM_THRESHOLD_": LATE_TRIM,
    **{f"distributed.nanny.pre-spawn-environ.{name}": 1 for name in THREAD_LIMITS},
}
MISSING = "run `pip install 'dressform[cluster]'` first"

_benches: dict[str, Callable[[Any], Iterator[Any]]] = {}
_one_at_a_time = threading.Lock()


class DaskCluster:
    """A cluster with a connection to it.

    Args:
        client: The connection.
        again: Makes another one, should it break.
    """

    is_local = False

    def __init__(self, client: Any, again: Callable[[], Any]) -> None:
        self.client, self._again = client, again

    @property
    def workers(self) -> int:
        """How many tasks are done at a time."""
        return max(1, sum(self.client.nthreads().values()))

    def run(self, job: Job, tasks: Iterable[EngineTask], follow: Follow) -> Generator[Any, None, None]:
        """See `Engine.run`. The job travels once to each worker.

        Raises:
            DressformError: the scheduler stays away, or workers have another version of the package.
        """
        run = _ClusterRun(self, job)
        try:
            yield from run.results(iter(tasks), follow, AHEAD * self.workers)
        finally:
            run.drop()

    def reconnected(self) -> None:
        """Connect again once the scheduler is back.

        Raises:
            DressformError: it does not come back.
        """
        end = time.monotonic() + PATIENCE
        with suppress(Exception):
            self.client.close(timeout=1)
        while time.monotonic() < end:
            raise_if_interrupted()
            try:
                self.client = self._again()
                return
            except (OSError, TimeoutError):
                time.sleep(1)
        raise DressformError(
            f"check: the scheduler has not answered for {PATIENCE:.0f} s. Start it again and run the same command: "
            "what is finished is in the store."
        )


class _ClusterRun:
    """Tasks that are on the cluster, each with the future of its results."""

    def __init__(self, cluster: DaskCluster, job: Job) -> None:
        self._cluster, self._data = cluster, pickle.dumps(job, protocol=5)
        self._digest = hashlib.sha256(self._data).hexdigest()
        self._there: dict[str, tuple[EngineTask, Any]] = {}
        self._job = self._shipped()

    def results(self, rest: Iterator[EngineTask], follow: Follow, most: int) -> Iterator[Any]:
        """What the tasks find, as it comes; what was lost with the scheduler or a worker is done again."""
        waiting: deque[EngineTask] = deque()
        while True:
            while len(self._there) < most:
                task = waiting.popleft() if waiting else next(rest, None)
                if task is None:
                    break
                self._give(task)
            if not self._there:
                return
            raise_if_interrupted()
            if self._cluster.client.status == "closed" or self._is_gone(self._job):
                self._start_again()
            ended = [name for name, (_, future) in self._there.items() if future.status != "pending"]
            for name in ended:
                task, future = self._there.pop(name)
                for found in self._heard(task, future):
                    waiting.extend(follow(found))
                    yield found
            if not ended:
                time.sleep(POLL)

    def drop(self) -> None:
        """Take back what is still there."""
        with suppress(Exception):
            self._cluster.client.cancel([future for _, future in self._there.values()])

    def _shipped(self) -> Any:
        return self._cluster.client.submit(load_job, self._data, key=f"dressform-job-{self._digest}")

    def _give(self, task: EngineTask) -> None:
        name = hashlib.sha256(f"{self._digest} {task.name}".encode()).hexdigest()
        future = self._cluster.client.submit(do_task, self._digest, self._job, task, key=f"dressform-{name}")
        self._there[task.name] = task, future

    def _heard(self, task: EngineTask, future: Any) -> Iterator[Any]:
        """What a task found; it is given again where its results were lost."""
        from distributed.scheduler import KilledWorker  # noqa: PLC0415  # an extra

        if future.status == "finished":
            try:
                yield from future.result(timeout=CONNECT)
                return
            except Exception:  # its worker, or the scheduler, has gone before the results were here
                self._give(task)
        elif future.status == "error":
            error = future.exception(timeout=CONNECT)
            if not isinstance(error, KilledWorker):
                raise _told(error)
            yield TaskLost(task, f"several workers ended at it without a word ({error})")
        else:
            self._give(task)

    def _is_gone(self, future: Any) -> bool:
        if future.status == "error":
            raise _told(future.exception(timeout=CONNECT))
        return future.status in ("lost", "cancelled")

    def _start_again(self) -> None:
        """Connect to a scheduler that was started again, and give it all that is not done."""
        self._cluster.reconnected()
        tasks = [task for task, _ in self._there.values()]
        self._there.clear()
        self._job = self._shipped()
        for task in tasks:
            self._give(task)


def _told(error: BaseException) -> Exception:
    """An error of a worker, in the words of the program where it is none of its own."""
    if isinstance(error, DressformError):
        return error
    text = " ".join(f"{type(error).__name__}: {error}".split())
    return DressformError(
        f"check: a worker of the cluster failed ({text}). Its packages must be those of this machine."
    )


def load_job(data: bytes) -> Job:
    """The job from its bytes, once per cluster; workers hand it to each other."""
    job: Job = pickle.loads(data)
    return job


def do_task(digest: str, job: Job, task: EngineTask) -> Sequence[Any]:
    """What a task finds, in a worker: one at a time, with what the first task of the job prepared."""
    with _one_at_a_time:
        if digest not in _benches:
            _benches.clear()
            _benches[digest] = job.begin()
        return list(_benches[digest](task))


@contextmanager
def opened_cluster(engine: str, workers: int) -> Iterator[DaskCluster]:
    """A cluster: `dask` starts one on this machine, an address is that of a scheduler.

    Args:
        engine: Its name.
        workers: Processes of a cluster that is started.

    Raises:
        ArgumentError: there is no such engine, or the package that it needs is not installed.
        DressformError: the scheduler does not answer, or has no worker.
    """
    refuse_engine(engine)
    try:
        import dask  # noqa: PLC0415  # an extra
        import distributed  # noqa: PLC0415
    except ImportError:
        rule = "processes where dask.distributed is not installed"
        raise ArgumentError.of("check", "engine", rule, repr(engine), MISSING[0].upper() + MISSING[1:]) from None
    kit: Any = distributed
    with dask.config.set(SETTINGS):
        if engine == DASK:
            with (
                kit.LocalCluster(
                    n_workers=workers, threads_per_worker=1, dashboard_address=None, host="127.0.0.1", memory_limit=0,
                    silence_logs="ERROR",
                ) as local,
                kit.Client(local) as client,
            ):  # fmt: skip
                yield DaskCluster(client, lambda: kit.Client(local))
            return
        assert engine.startswith(ADDRESS)

        def connected() -> Any:
            return kit.Client(engine, timeout=CONNECT)

        try:
            cluster = DaskCluster(connected(), connected)
        except (OSError, TimeoutError, ValueError) as error:
            raise DressformError(
                f"check: no scheduler answers at {engine} ({error}). Start one: dask scheduler --host HOST."
            ) from None
        try:
            _refuse_empty(cluster.client, engine)
            yield cluster
        finally:
            with suppress(Exception):
                cluster.client.close(timeout=CONNECT)


def _refuse_empty(client: Any, engine: str) -> None:
    try:
        client.wait_for_workers(1, timeout=CONNECT)
    except TimeoutError:
        raise DressformError(
            f"check: the scheduler at {engine} has no worker. Start some: dask worker {engine} --nworkers "
            f"{os.cpu_count()} --nthreads 1."
        ) from None
