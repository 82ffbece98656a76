"""The job of `dressform check`: garments fitted, swept over the shapes, gathered into one report."""

import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import Following, Reading
from dressform.cli.console import Advance
from dressform.cli.fitting import Fitted, fit_garment
from dressform.cli.gathering import body_report, garment_report, now, settings_report, versions
from dressform.cli.settings import Saved
from dressform.faults.severity import Bands
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.results.check_report import CheckReport
from dressform.mesh.tree import Tree
from dressform.repair.clearance import DEFAULT_MARGIN
from dressform.sweep.results import SweepResult
from dressform.sweep.run import choose_shapes, run_sweep
from dressform.sweep.store import RowStore


@dataclass(frozen=True)
class CheckJob:
    """What is to be checked, and how.

    Attributes:
        body_file: The body.
        garment_files: The garments.
        reading: How the files were read.
        ways: Methods to compare; every garment is followed each way.
        following: How the cloth follows.
        settings: Which shapes are looked at, beside the worst.
        bands: From which value on a fault is slight, moderate, grave.
        workers: Processes.
        margin: Clearance that advice wants to remain, metres; None where no causes are sought.
        store: File that keeps finished rows, or None.
        saved: How each garment follows, as a file of settings says.
        way_of: The one way in which a garment is followed, where not every way is meant for it.
    """

    body_file: BodyFile
    garment_files: tuple[GarmentFile, ...]
    reading: Reading
    methods: tuple[str, ...]
    following: Following
    settings: ShapeSettings
    bands: Bands
    workers: int
    margin: float | None = DEFAULT_MARGIN
    store: Path | None = None
    saved: Saved = field(default_factory=dict)
    method_of: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Checked:
    """A job and what came of it; `fitted` and `report.garments` have the same order."""

    job: CheckJob
    fitted: tuple[Fitted, ...]
    swept: SweepResult
    report: CheckReport


def check_garments(job: CheckJob, advance: Advance) -> Checked:
    """Fit every garment every way, measure every fault on every shape, and gather it all.

    Raises:
        ArgumentError: a way, a policy or a number is not valid.
        FileError: the store of kept rows cannot be used.
    """
    start = time.perf_counter()
    body = job.body_file.body
    tree = Tree(body.vertices, body.faces)
    fitted = tuple(
        fit_garment(job.body_file, one, method, job.following, tree=tree, saved=job.saved)
        for one in job.garment_files
        for method in job.methods
        if job.method_of.get(one.garment.name, method) == method
    )
    fits = {one.key: one.fit for one in fitted}
    shapes = choose_shapes(body, fits, settings=job.settings)
    with _opened(job.store) as store:
        swept = run_sweep(body, fits, shapes, bands=job.bands, workers=job.workers, progress=advance, store=store)
    report = CheckReport(
        made=now(),
        versions=versions(),
        settings=settings_report(
            methods=job.methods,
            reading=job.reading,
            following=job.following,
            settings=job.settings,
            workers=job.workers,
            bands=job.bands,
            margin=job.margin,
            saved=job.saved,
        ),
        body=body_report(job.body_file),
        garments=tuple(garment_report(one, swept) for one in fitted),
        seconds=time.perf_counter() - start,
    )
    return Checked(job, fitted, swept, report)


@contextmanager
def _opened(path: Path | None) -> Iterator[RowStore | None]:
    if path is None:
        yield None
    else:
        with RowStore(path) as store:
            yield store
