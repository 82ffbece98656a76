"""Measuring shapes, batch by batch; in this process, or as a job that several share."""

from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from time import perf_counter

import numpy as np
from jaxtyping import Float

from dressform.body.stance import Stance
from dressform.errors import DressformError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import Bands
from dressform.faults.wardrobe import Wardrobe, plain_wardrobe
from dressform.fit.fit import Fit
from dressform.interrupts import raise_if_interrupted
from dressform.sweep.staff import GarmentFailed

BATCH = 4
"""Shapes that a process is given at a time: enough that asking costs nothing, few enough that all end together."""
MOST_AT_ONCE = 16
"""One shape at several stances stays together up to so many, as all need what is measured of it at rest."""


@dataclass(frozen=True)
class Batch:
    """Shapes of one garment: their places in the caller's list, (S,), their weights, (S, K), and their stances, (S,).

    A stance is named by its number among those of the job, -1 for rest.
    """

    garment: str
    places: tuple[int, ...]
    weights: Float[np.ndarray, "S K"]
    stances: tuple[int, ...]

    @property
    def size(self) -> int:
        """How many shapes it is."""
        return len(self.places)


@dataclass(frozen=True)
class CheckPrepared:
    """A check was prepared."""

    garment: str
    seconds: float


@dataclass(frozen=True)
class ShapeMeasured:
    """A shape was measured."""

    garment: str
    place: int
    faults: ShapeFaults
    seconds: float


Event = CheckPrepared | ShapeMeasured | GarmentFailed


@dataclass(frozen=True)
class SweepJob:
    """The data that every process needs.

    Attributes:
        fits: Garments by key. A body that several of them share is one object, so that processes get it once.
        bands: From which value on a fault is slight, moderate, grave.
        under: Per garment the keys of the garments worn under it.
        goes_on: Whether a garment that cannot be measured is told, and the others go on; else its error is raised.
        stances: The stances that batches name.
        ready: Garments that are prepared already, each with the seconds that took.
    """

    fits: Mapping[str, Fit]
    bands: Bands
    under: Mapping[str, Sequence[str]]
    goes_on: bool = False
    stances: tuple[Stance, ...] = ()
    ready: Mapping[str, tuple[GarmentOnBody, float]] = field(default_factory=dict)

    def begin(self) -> Callable[[Batch], Iterator[Event]]:
        """What measures its batches in this process."""
        return BatchMeasurer(self).run


class BatchMeasurer:
    """Measures batches one after the other.

    Args:
        job: The garments, bands and layers.
        wardrobe: Garments prepared earlier; without it only the last one prepared is kept.
    """

    def __init__(self, job: SweepJob, wardrobe: Wardrobe[GarmentOnBody] | None = None) -> None:
        self._job = job
        self._garment: str | None = None
        self._wardrobe = wardrobe or plain_wardrobe(bands=job.bands, kept=1)

    def run(self, batch: Batch) -> Iterator[Event]:
        """Events of one batch."""
        try:
            yield from self._measured(batch)
        except DressformError as error:
            if not self._job.goes_on:
                raise
            yield GarmentFailed(batch.garment, error)

    def _measured(self, batch: Batch) -> Iterator[Event]:
        job = self._job
        under = [job.fits[key] for key in job.under.get(batch.garment, ())]
        ready = job.ready.get(batch.garment)
        worn = self._wardrobe.worn(job.fits[batch.garment], under=under) if ready is None else ready[0]
        if ready is not None and self._garment != batch.garment:
            self._garment = batch.garment
            yield CheckPrepared(batch.garment, ready[1])
        elif self._garment != batch.garment:
            start = perf_counter()
            worn.prepare()
            self._garment = batch.garment
            yield CheckPrepared(batch.garment, perf_counter() - start)
        for place, weights, number in zip(batch.places, batch.weights, batch.stances):
            raise_if_interrupted()
            start = perf_counter()
            faults = worn.measure(weights, job.stances[number] if number >= 0 else None)
            yield ShapeMeasured(batch.garment, place, faults, perf_counter() - start)


def measure_here(
    job: SweepJob, batches: Sequence[Batch], wardrobe: Wardrobe[GarmentOnBody] | None = None
) -> Generator[Event, None, None]:
    """All batches in this process."""
    measurer, failed = BatchMeasurer(job, wardrobe), set[str]()
    for batch in batches:
        if batch.garment not in failed:
            for event in measurer.run(batch):
                if isinstance(event, GarmentFailed):
                    failed.add(event.garment)
                yield event
