"""The job of `dressform check`: garments fitted, swept over the shapes, gathered into one report."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import Reading
from dressform.cli.console import Advance
from dressform.cli.fitting import Fitted, fit_garment
from dressform.cli.gathering import body_report, garment_report, now, settings_report, versions
from dressform.cli.reading import Asked
from dressform.faults.severity import Bands
from dressform.formats.load import BodyFile
from dressform.formats.results.check_report import CheckReport
from dressform.mesh.tree import Tree
from dressform.sweep.results import SweepResult
from dressform.sweep.run import choose_shapes, run_sweep
from dressform.sweep.store import RowStore


@dataclass(frozen=True)
class CheckJob:
    """What is to be checked, and how.

    Attributes:
        body_file: The body.
        garments: The garments, and how each follows.
        reading: How the files were read.
        methods: Methods to compare; each garment's own where empty.
        settings: Which shapes are looked at, beside the worst.
        bands: From which value on a fault is slight, moderate, grave.
        workers: Processes.
        causes: Whether causes are sought.
        store: File that keeps finished rows, or None.
    """

    body_file: BodyFile
    garments: tuple[Asked, ...]
    reading: Reading
    methods: tuple[str, ...]
    settings: ShapeSettings
    bands: Bands
    workers: int
    causes: bool = True
    store: Path | None = None

    def methods_of(self, asked: Asked) -> tuple[str, ...]:
        """The methods by which one garment is followed."""
        return self.methods or (asked.following.method,)


@dataclass(frozen=True)
class Checked:
    """A job and what came of it; `fitted` and `report.garments` have the same order."""

    job: CheckJob
    fitted: tuple[Fitted, ...]
    swept: SweepResult
    report: CheckReport


def check_garments(job: CheckJob, advance: Advance) -> Checked:
    """Fit every garment by every method, measure every fault on every shape, and gather it all.

    Raises:
        ArgumentError: a garment cannot follow as it was asked to.
        FileError: the store of kept rows cannot be used.
    """
    start = time.perf_counter()
    body = job.body_file.body
    tree = Tree(body.vertices, body.faces)
    fitted = tuple(
        fit_garment(body, one, method=method, tree=tree) for one in job.garments for method in job.methods_of(one)
    )
    fits = {one.key: one.fit for one in fitted}
    shapes = choose_shapes(fits, settings=job.settings)
    with _opened(job.store) as store:
        swept = run_sweep(fits, shapes, bands=job.bands, workers=job.workers, progress=advance, store=store)
    report = CheckReport(
        made=now(),
        versions=versions(),
        settings=settings_report(
            methods=tuple(dict.fromkeys(one.fit.following.method for one in fitted)),
            reading=job.reading,
            followings={one.name: one.following for one in job.garments},
            settings=job.settings,
            workers=job.workers,
            bands=job.bands,
            causes=job.causes,
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
