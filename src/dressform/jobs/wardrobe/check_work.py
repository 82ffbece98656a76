"""Checking one garment of a wardrobe in any process: read, fitted, measured, explained; nothing else is needed."""

import gc
import time
import zlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import ClassVar

import msgspec

from dressform.body.body import Body
from dressform.body.shape_settings import ShapeSettings
from dressform.body.stance import Stance
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import explained_wardrobe
from dressform.errors import DressformError
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import Bands
from dressform.fit.fit import Fit
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.formats.results.check_json import to_results
from dressform.formats.results.check_schema import StoredGarment, key_of
from dressform.formats.results.failed import FailedGarment, FailedStage
from dressform.formats.results.garment_line import GarmentLine, line_of
from dressform.formats.results.record import Source
from dressform.garment.following import NO_JOINTS, for_garment
from dressform.garment.garment import Garment
from dressform.jobs.check import check
from dressform.jobs.check_result import CheckResult
from dressform.jobs.fit import fit
from dressform.jobs.load import load_garment
from dressform.jobs.wardrobe.memory import peak_mb
from dressform.jobs.wardrobe.task import GarmentDone, GarmentTask, Rows, ShareDone
from dressform.sweep.run import choose_shapes, run_sweep

LOADED = "dressform.jobs.wardrobe.loaded"
"""What the server of the processes imports, so that each begins with its kernels loaded."""
LINES = msgspec.json.Decoder(tuple[GarmentLine, ...])
GARMENTS = msgspec.json.Decoder(tuple[StoredGarment, ...])


@dataclass(frozen=True, eq=False)
class CheckWork:
    """What every process needs to check garments of a wardrobe.

    Attributes:
        body: The body, without its file.
        others: Other base bodies on which a garment may have been modelled.
        methods: Methods to compare; each garment's own where there are none.
        shapes: Which shapes are looked at.
        stances: Stances to measure at beside rest.
        bands: From which value on a fault is slight, moderate, grave.
        causes: Whether causes are sought.
        units: Unit of the garments' files, where it was told.
        up: Their axis up, where it was told.
        context: What is prepared of the body already.
    """

    preload: ClassVar[tuple[str, ...]] = (LOADED,)

    body: Body
    others: tuple[Body, ...]
    methods: tuple[str, ...]
    shapes: ShapeSettings
    stances: tuple[Stance, ...]
    bands: Bands
    causes: bool
    units: str | None = None
    up: str | None = None
    context: ExplainedBody | None = None

    def prepared(self) -> "CheckWork":
        """The same with its body prepared."""
        return replace(self, context=ExplainedBody(self.body).prepare(causes=self.causes))

    def begin(self) -> Callable[[GarmentTask], Iterator[GarmentDone | ShareDone]]:
        """What checks garments in this process."""
        return _Bench(self).run


class _Bench:
    """A process at work: the body is prepared once, garments come and go."""

    def __init__(self, work: CheckWork) -> None:
        self._work = work
        context = work.context or ExplainedBody(work.body)
        self._tree = context.tree
        self._wardrobe = explained_wardrobe(bands=work.bands, others=work.others, kept=1).knowing(context)

    def run(self, task: GarmentTask) -> Iterator[GarmentDone | ShareDone]:
        """What became of a garment; whatever is wrong with it is told."""
        start, stages = time.perf_counter(), _Stages(task)
        try:
            with task.opened() as path:
                stages.hidden = str(path)
                garment = self._garment(task, path)
                fits, failed = self._fits(task, garment, stages)
                stages.stage = "measured"
                if task.of > 1 and not task.rows:
                    yield ShareDone(task, self._share(task, fits), time.perf_counter() - start, failed)
                    return
                result = self._checked(task, fits)
                failed += tuple(stages.told(one) for one in result.failed)
                line, data = told(result)
        except (DressformError, MemoryError) as error:
            yield stages.ended(str(error) or "memory ran out", start)
        except Exception as error:  # a fault of the program, which must not cost the other garments
            yield stages.ended(f"a fault of the program, not of the file ({type(error).__name__}: {error})", start)
        else:
            yield GarmentDone(task, line, data, failed, time.perf_counter() - start, peak_mb())
        finally:
            gc.collect()  # what holds each other in a circle; it would grow from garment to garment

    def _garment(self, task: GarmentTask, path: Path) -> Garment:
        work, mask = self._work, task.following.mask
        name = mask if isinstance(mask, str) else STRENGTH_ATTRIBUTE
        read = load_garment(path, beside=work.body, mask=name, units=work.units, up=work.up)
        return replace(read, name=task.garment)

    def _fits(
        self, task: GarmentTask, garment: Garment, stages: "_Stages"
    ) -> tuple[dict[str, Fit], tuple[FailedGarment, ...]]:
        """The garment by every method; one of several that fails is told."""
        following = for_garment(task.following, garment)
        methods, made, failed = self._work.methods or (following.method,), dict[str, Fit](), []
        stages.stage = "fitted"
        for method in methods:
            stages.method = method
            try:
                made[key_of(garment.name, method)] = fit(
                    self._work.body, garment, replace(following, method=method), tree=self._tree
                )
            except DressformError as error:
                if len(methods) == 1:
                    raise
                failed.append(stages.failed(str(error)))
        if not made:
            raise DressformError(" ".join(one.reason for one in failed))
        return made, tuple(failed)

    def _stances(self, task: GarmentTask) -> tuple[Stance, ...]:
        """A garment that is to have no joint weights is looked at in the modelled pose alone."""
        return () if task.following.joint_weights == NO_JOINTS else self._work.stances

    def _share(self, task: GarmentTask, fits: Mapping[str, Fit]) -> Rows:
        """Rows of one share of the shapes: neighbours in the list, as they have work in common."""
        chosen = choose_shapes(fits, settings=self._work.shapes, stances=self._stances(task))
        share = {}
        for key, shapes in chosen.items():
            first, end = (len(shapes) * number // task.of for number in (task.part, task.part + 1))
            share[key] = shapes[first:end]
        rows = MemoryRows({})
        run_sweep(fits, share, bands=self._work.bands, store=rows, wardrobe=self._wardrobe, goes_on=len(fits) > 1)
        return rows.rows

    def _checked(self, task: GarmentTask, fits: Mapping[str, Fit]) -> CheckResult:
        work = self._work
        return check(
            fits,
            shapes=work.shapes,
            stances=self._stances(task),
            bands=work.bands,
            causes=work.causes,
            wardrobe=self._wardrobe,
            store=MemoryRows(dict(task.rows)) if task.rows else None,
        )


@dataclass
class _Stages:
    """How far a garment has come, so that what fails can be told."""

    task: GarmentTask
    stage: FailedStage = "read"
    method: str = ""
    hidden: str = ""

    def failed(self, reason: str) -> FailedGarment:
        """What to tell; where the file lies for this process is nobody's business."""
        reason = reason.replace(self.hidden, self.task.told) if self.hidden else reason
        return FailedGarment(
            name=self.task.garment, file=self.task.told, method=self.method, stage=self.stage, reason=reason
        )

    def told(self, one: FailedGarment) -> FailedGarment:
        """The same of what a check tells."""
        return msgspec.structs.replace(self.failed(one.reason), method=one.method)

    def ended(self, reason: str, start: float) -> GarmentDone:
        """The garment failed as a whole."""
        return GarmentDone(self.task, b"", b"", (self.failed(reason),), time.perf_counter() - start, peak_mb())


@dataclass(frozen=True)
class MemoryRows:
    """Rows of a sweep that are at hand, and those that it adds."""

    rows: dict[bytes, tuple[ShapeFaults, float]]

    def get(self, key: bytes) -> tuple[ShapeFaults, float] | None:
        """A row, or None."""
        return self.rows.get(key)

    def put(self, key: bytes, faults: ShapeFaults, seconds: float) -> None:
        """Keep a row."""
        self.rows[key] = faults, seconds


def told(result: CheckResult) -> tuple[bytes, bytes]:
    """What lists tell of the garments of a check, and all of it; equal work gives equal bytes, so no times."""
    report = result.report
    stored = to_results(report).garments
    by_key = {one.key: one for one in report.garments}
    lines = tuple(line_of(report, by_key[one.key]) for one in stored)
    data = msgspec.json.encode(tuple(timeless(one) for one in stored))
    return msgspec.json.encode(lines), zlib.compress(data)


def timeless(garment: StoredGarment) -> StoredGarment:
    """The same without times and without the place of its file."""
    shapes = tuple(msgspec.structs.replace(one, ms=0.0) for one in garment.shapes)
    stances = tuple(
        msgspec.structs.replace(one, shapes=tuple(msgspec.structs.replace(shape, ms=0.0) for shape in one.shapes))
        for one in garment.stances
    )
    source = Source("", garment.source.sha256)
    return msgspec.structs.replace(
        garment, source=source, shapes=shapes, stances=stances, setup_ms=0.0, prepare_ms=0.0, shape_ms=0.0,
        explain_ms=0.0,
    )  # fmt: skip


def garments_of(data: bytes, *, file: str = "") -> Sequence[StoredGarment]:
    """What `told` kept, with the place of its file."""
    found = GARMENTS.decode(zlib.decompress(data))
    return tuple(msgspec.structs.replace(one, source=Source(file, one.source.sha256)) for one in found)
