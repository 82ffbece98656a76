"""A cluster of real processes on the loopback: a worker that is killed and a scheduler that is started again cost
nothing that was done, nothing is kept twice, and the bytes are those of one process."""

import gc
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from dressform.errors import ArgumentError, DressformError
from dressform.jobs.store.finished import FinishedStore, KeptWork
from dressform.jobs.wardrobe.check import WardrobeChecked
from dressform.sweep.cluster import opened_cluster
from wardrobes import checked, kept, small_wardrobe

HERE = "127.0.0.1"
STARTS = 90.0

pytestmark = [
    pytest.mark.long,
    pytest.mark.filterwarnings("default"),
]  # those of the packages of the cluster are not ours to raise


@pytest.fixture(autouse=True)
def swept() -> Iterator[None]:
    """What the cluster's packages leave open is found here, where it raises nothing, and not in another test."""
    yield
    gc.collect()


class Machines:
    """A scheduler and workers, each a process; all are killed at the end."""

    def __init__(self, folder: Path) -> None:
        pytest.importorskip("distributed")
        with socket.socket() as free:
            free.bind((HERE, 0))
            self.port = free.getsockname()[1]
        self.address, self._folder, self._all = f"tcp://{HERE}:{self.port}", folder, ExitStack()

    def __enter__(self) -> "Machines":
        return self

    def __exit__(self, *_: object) -> None:
        self._all.close()

    def scheduler(self) -> subprocess.Popen[bytes]:
        found = self._started("scheduler", "--host", HERE, "--port", str(self.port), "--no-dashboard")
        end = time.monotonic() + STARTS
        while time.monotonic() < end:
            with socket.socket() as asked:
                if asked.connect_ex((HERE, self.port)) == 0:
                    return found
            time.sleep(0.1)
        raise TimeoutError

    def worker(self) -> subprocess.Popen[bytes]:
        return self._started("worker", self.address, "--nthreads", "1", "--no-nanny", "--no-dashboard")

    def _started(self, *words: str) -> subprocess.Popen[bytes]:
        here = [str(Path(__file__).parents[3] / "src"), os.environ.get("PYTHONPATH", "")]
        environment = {**os.environ, "PYTHONPATH": os.pathsep.join(here), "OMP_NUM_THREADS": "1"}
        made = subprocess.Popen(
            [sys.executable, "-m", "dask", *words], cwd=self._folder, env=environment,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self._all.callback(made.wait)
        self._all.callback(made.kill)
        return made


@pytest.fixture(scope="module")
def wardrobe(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_wardrobe(tmp_path_factory.mktemp("small"), count=6)


@pytest.fixture(scope="module")
def alone(wardrobe: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, tuple[bytes, bytes, bytes]]]:
    """What one process keeps."""
    with FinishedStore(tmp_path_factory.mktemp("alone") / "s.db") as store:
        checked(wardrobe, store)
        yield kept(store)


def run(
    wardrobe: Path, store: FinishedStore, address: str, monkeypatch: pytest.MonkeyPatch, then: Callable[[], object]
) -> tuple[list[str], WardrobeChecked]:
    """The wardrobe checked on a cluster; `then` is called once, after the first garment was kept."""
    put, names = FinishedStore.put, list[str]()

    def noted(self: FinishedStore, work: KeptWork) -> None:
        put(self, work)
        names.append(work.name)
        if len(names) == 1:
            then()

    monkeypatch.setattr(FinishedStore, "put", noted)
    with opened_cluster(address, 1) as engine:
        return names, checked(wardrobe, store, engine=engine)


def test_a_worker_that_is_killed_costs_nothing(
    wardrobe: Path, alone: dict[str, object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Machines(tmp_path) as machines, FinishedStore(tmp_path / "s.db") as store:
        machines.scheduler()
        first, _ = machines.worker(), machines.worker()
        names, found = run(wardrobe, store, machines.address, monkeypatch, first.kill)
        assert kept(store) == alone
    assert sorted(names) == sorted(alone)
    assert [one.name for one in found.failed] == ["bad"]


def test_a_scheduler_that_is_started_again_costs_nothing(
    wardrobe: Path, alone: dict[str, object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Machines(tmp_path) as machines, FinishedStore(tmp_path / "s.db") as store:
        scheduler = machines.scheduler()
        machines.worker()

        def again() -> None:
            scheduler.kill()
            scheduler.wait()
            machines.scheduler()
            machines.worker()

        names, found = run(wardrobe, store, machines.address, monkeypatch, again)
        assert kept(store) == alone
    assert sorted(names) == sorted(alone)
    assert [one.name for one in found.failed] == ["bad"]


def test_a_scheduler_that_does_not_answer_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dressform.sweep.cluster.CONNECT", 0.5)
    with (
        Machines(tmp_path) as machines,
        pytest.raises(DressformError, match="no scheduler answers"),
        opened_cluster(machines.address, 1),
    ):
        pass


def test_without_the_package_of_clusters_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(ArgumentError, match=r"pip install 'dressform\[cluster\]'"), opened_cluster("dask", 1):
        pass


@pytest.mark.parametrize("engine", ["threads", "tcp://", "http://there:80"])
def test_an_engine_that_there_is_not_is_refused(engine: str) -> None:
    with pytest.raises(ArgumentError, match="must be processes, dask or tcp://HOST:PORT"), opened_cluster(engine, 1):
        pass
