"""Working through a wardrobe: what the store has is taken from it, the rest is done, and kept as it comes."""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field

from dressform.errors import DressformError
from dressform.formats.results.failed import FailedGarment
from dressform.garment.following import Following
from dressform.garment.methods import folder_of, is_code
from dressform.jobs.progress import Progress
from dressform.jobs.store.finished import FinishedStore, KeptWork
from dressform.jobs.store.version import results_version
from dressform.jobs.wardrobe.files import WardrobeFile, contents_of
from dressform.jobs.wardrobe.task import GarmentDone, GarmentTask, Rows, ShareDone
from dressform.sweep.engine import Engine, EngineTask, TaskLost
from dressform.sweep.staff import Job
from dressform.sweep.store import content_hash

SHARED_UNDER = 2
"""Shapes are shared among processes where there are fewer garments than this for each process."""
FLEETING = "fleeting"
"""Stands for the version of what should not outlive its run."""
TAKEN_OUT = "what was found was taken out of the store, or damaged there, while the run went on: run it again"
WORTH_SHARING = 64
"""A share has at least so many shapes: reading, fitting and preparing the garment again costs as much as dozens."""


@dataclass(frozen=True)
class WardrobeAsked:
    """What is to be done with each garment of a wardrobe.

    Attributes:
        kind: Word for it in the store.
        job: What every process needs.
        common: What the results of every garment depend on, beside the garment and how it follows.
        following: How a garment is to follow, by its name and file.
        body: Name of the body.
        looks: About how many shapes are looked at, all stances counted; 0 where shapes cannot be shared.
        arrived: What of the data is kept, once the rest was put where it belongs.
        stands: Whether what was done before still stands where it was put.
    """

    kind: str
    job: Job
    common: bytes
    following: Callable[[WardrobeFile], Following]
    body: str
    looks: int
    arrived: Callable[[GarmentTask, bytes], bytes] = lambda task, data: data
    stands: Callable[[WardrobeFile, KeptWork], bool] = lambda file, work: True


@dataclass
class WardrobeRun:
    """What became of a wardrobe.

    Attributes:
        keys: Under which key the store has each garment, by name, in the order asked for.
        files: File of each garment, as it was asked for, by name.
        failed: What could not be done, and why.
        kept: How many garments were done before.
        done: How many were done now.
        seconds: The whole run.
        work_seconds: What the processes spent on garments, added up.
        peak_mb: Most memory of any process, MB.
        fleeting: Keys of what the store should not keep beyond this run.
    """

    keys: dict[str, bytes] = field(default_factory=dict)
    files: dict[str, str] = field(default_factory=dict)
    failed: list[FailedGarment] = field(default_factory=list)
    kept: int = 0
    done: int = 0
    seconds: float = 0.0
    work_seconds: float = 0.0
    peak_mb: float = 0.0
    fleeting: list[bytes] = field(default_factory=list)


def run_wardrobe(
    files: Sequence[WardrobeFile],
    asked: WardrobeAsked,
    *,
    engine: Engine,
    store: FinishedStore,
    progress: Progress | None = None,
) -> WardrobeRun:
    """Do the work for every garment that the store does not have it of; one that fails never stops the others.

    What is found is put into the store as it comes, so memory does not grow with the number of garments, and a run that
    was ended goes on where it was. The largest files are begun first.

    Args:
        files: The garments.
        asked: What is to be done.
        engine: Where.
        store: Where it is kept. What failed is not, and is tried again by the next run.
        progress: Told of every garment.

    Proof: tests/jobs/wardrobe/test_run.py
    """
    start, run = time.perf_counter(), _Run(files, asked, engine, store, progress)
    with closing(engine.run(asked.job, run.tasks(), run.follow)) as events:
        for event in events:
            if isinstance(event, TaskLost):
                run.lose(event)
            elif isinstance(event, GarmentDone):
                run.keep(event)
    run.told.seconds = time.perf_counter() - start
    run.miss()
    order = {one.name: number for number, one in enumerate(files)}
    run.told.keys = dict(sorted(run.told.keys.items(), key=lambda pair: order[pair[0]]))
    run.told.failed.sort(key=lambda one: order[one.name])
    return run.told


class _Run:
    """One run: which tasks there are, and what has come of them."""

    def __init__(
        self,
        files: Sequence[WardrobeFile],
        asked: WardrobeAsked,
        engine: Engine,
        store: FinishedStore,
        progress: Progress | None,
    ) -> None:
        self._files, self._asked, self._engine, self._store, self._progress = files, asked, engine, store, progress
        self._shares: dict[str, dict[int, Rows]] = {}
        self._ended = 0
        self.told = WardrobeRun(files={one.name: str(one.path) for one in files})

    def tasks(self) -> Iterator[GarmentTask]:
        """Garments that are not in the store; of few garments the shapes are shared."""
        ordered = sorted(self._files, key=lambda one: -one.size)
        few = len(ordered) < SHARED_UNDER * self._engine.workers
        for file in ordered:
            task = self._task(file)
            if task is None:
                continue
            count = min(self._engine.workers, self._asked.looks // WORTH_SHARING) if few else 1
            if count < 2:
                yield task
            else:
                self._shares[task.garment] = {}
                yield from (_share(task, number, count) for number in range(count))

    def follow(self, found: object) -> Sequence[EngineTask]:
        """Once all shares of a garment are there, one process does the rest."""
        if not isinstance(found, ShareDone) or found.task.garment not in self._shares:
            return ()
        shares, task = self._shares[found.task.garment], found.task
        shares[task.part] = found.rows
        self.told.work_seconds += found.seconds
        if len(shares) < task.of:
            return ()
        del self._shares[task.garment]
        return (_whole(task, {key: row for rows in shares.values() for key, row in rows.items()}),)

    def keep(self, event: GarmentDone) -> None:
        """Put what was found into the store."""
        task, asked = event.task, self._asked
        if task.garment in self.told.keys or (task.of > 1 and not task.rows and not self._unshared(task)):
            return
        self.told.work_seconds += event.seconds
        self.told.peak_mb = max(self.told.peak_mb, event.peak_mb)
        self.told.failed += event.failed
        if event.line:
            self.told.done += 1
            key, version = task.key, results_version()
            if event.failed:  # in part: it is shown now, and done again by the next run
                key, version = content_hash(task.key, FLEETING), FLEETING
                self.told.fleeting.append(key)
            data = asked.arrived(task, event.data)
            work = KeptWork(key, asked.kind, task.garment, asked.body, version, event.seconds, event.line, data)
            self._store.put(work)
            self.told.keys[task.garment] = key
        self._tell(task.garment)

    def lose(self, event: TaskLost) -> None:
        """A garment at which every process died."""
        task = event.task
        assert isinstance(task, GarmentTask)
        if self._shares.pop(task.garment, None) is None and task.of > 1 and not task.rows:
            return
        self.told.failed.append(_failed(task.garment, task.told, event.reason, "measured"))
        self._tell(task.garment)

    def miss(self) -> None:
        """Tell of garments that somebody took out of the store while the run went on, and let it lose no more."""
        self._store.freeze()
        for name, key in list(self.told.keys.items()):
            if self._store.get(key) is None:
                del self.told.keys[name]
                self.told.failed.append(_failed(name, self.told.files[name], TAKEN_OUT, "measured"))

    def _unshared(self, task: GarmentTask) -> bool:
        """A share of a garment failed as a whole: the first one tells, the others are left."""
        return self._shares.pop(task.garment, None) is not None

    def _task(self, file: WardrobeFile) -> GarmentTask | None:
        """The task of a garment, or None where the store has it or it cannot even be opened."""
        try:
            contents = contents_of(file.path)
            following = self._asked.following(file)
        except DressformError as error:
            self.told.failed.append(_failed(file.name, str(file.path), str(error), "read"))
            self._tell(file.name)
            return None
        asked = (self._asked.kind, results_version(), self._asked.common)
        key = content_hash(*asked, file.name, _plain(following), contents)
        known = self._store.get(key)
        if known is not None and self._asked.stands(file, known):
            self.told.keys[file.name] = key
            self.told.kept += 1
            self._tell(file.name)
            return None
        hidden = {} if self._engine.is_local else contents
        return GarmentTask(file.name, str(file.path), str(file.path.resolve()), following, key, hidden)

    def _tell(self, name: str) -> None:
        self._ended += 1
        if self._progress is not None:
            self._progress(self._ended, len(self._files), name)


def is_known(methods: Sequence[str]) -> bool:
    """Whether the garment's file and these methods are all that results depend on."""
    return not any(is_code(method) or folder_of(method) is not None for method in methods)


def _plain(following: Following) -> Mapping[str, object]:
    """A following for a hash."""
    return {**vars(following), "parts": dict(following.parts), "part_joints": dict(following.part_joints)}


def _share(task: GarmentTask, number: int, of: int) -> GarmentTask:
    return GarmentTask(task.garment, task.told, task.path, task.following, task.key, task.contents, number, of)


def _whole(task: GarmentTask, rows: Rows) -> GarmentTask:
    return GarmentTask(task.garment, task.told, task.path, task.following, task.key, task.contents, 0, task.of, rows)


def _failed(name: str, file: str, reason: str, stage: str) -> FailedGarment:
    return FailedGarment(name=name, file=file, stage="read" if stage == "read" else "measured", reason=reason)
