"""Opens the store and the engine that options ask for."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from dressform.cli.wardrobe.options import WardrobeOptions
from dressform.errors import ArgumentError
from dressform.jobs.arguments import refuse_workers
from dressform.jobs.store.finished import FinishedStore
from dressform.jobs.store.place import default_store
from dressform.leftovers import PLAIN, owned
from dressform.sweep.cluster import opened_cluster
from dressform.sweep.crew import Processes
from dressform.sweep.engine import PROCESSES, Engine, refuse_engine


@contextmanager
def opened_store(asked: WardrobeOptions, *, forgets: bool = False) -> Iterator[FinishedStore]:
    """The store; one that is gone with the context where nothing is to be kept.

    Args:
        asked: The options.
        forgets: Whether what is found depends on more than the store can know.

    Raises:
        ArgumentError: a store is named, and none is to be used.
        FileError: see `FinishedStore`.
    """

    if asked.no_store and asked.store is not None:
        raise ArgumentError.of("check", "store", "left out where none is to be used", str(asked.store), "Drop one")
    if asked.no_store or forgets:
        with TemporaryDirectory(prefix=owned(PLAIN)) as folder, FinishedStore(Path(folder) / "store.db") as store:
            yield store
    else:
        with FinishedStore(asked.store or default_store()) as store:
            yield store


@contextmanager
def opened_engine(asked: WardrobeOptions, workers: int) -> Iterator[Engine]:
    """Where the work is done.

    Raises: As `opened_cluster`.
    """
    refuse_workers("check", workers)
    name = refuse_engine(asked.engine or PROCESSES)
    if name == PROCESSES:
        yield Processes(workers)
    else:
        with opened_cluster(name, workers) as engine:
            yield engine
