"""The sweep: measure every fault of garments on shapes, in several processes, and resume an earlier sweep."""

from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import closing, suppress
from dataclasses import replace
from time import perf_counter

import numpy as np

from dressform.body.shapes import Shape, ShapeSettings, distinct, shapes_of, sobol_shapes
from dressform.body.stance import Stance
from dressform.errors import ArgumentError, DressformError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.wardrobe import Wardrobe, plain_wardrobe
from dressform.fit.fit import Fit
from dressform.fit.shaped import ShapedFit
from dressform.sweep.posed_shapes import posed_shapes
from dressform.sweep.results import SweepResult, SweepRow
from dressform.sweep.spread import (
    BATCH,
    MOST_AT_ONCE,
    Batch,
    CheckPrepared,
    ShapeMeasured,
    SweepJob,
    measure_here,
)
from dressform.sweep.staff import GarmentFailed, run_spread, start_server
from dressform.sweep.still import moving_stances
from dressform.sweep.store import KeptRows, content_hash
from dressform.sweep.worst import DEFAULT_WORST
from dressform.sweep.worst_asked import worst_of

REPAIR_SHAPES = ShapeSettings(strongest=0, sobol=8)
"""Shapes that a repair looks at, beside the worst: few, as clearance is kept over the whole range anyway."""

Progress = Callable[[int, int], None]
"""Called with the number of rows that are done and the number of all rows."""

Found = dict[tuple[str, int], tuple[ShapeFaults, float, bool]]


def choose_shapes(
    fits: Mapping[str, Fit],
    *,
    settings: ShapeSettings | None = None,
    worst: int = DEFAULT_WORST,
    stances: Sequence[Stance] = (),
) -> dict[str, list[Shape]]:
    """Shapes to check each garment on: the base, the corners that are worst for it, then those set by `settings`.

    At each stance at which the garment or the skin near it moves (`moving_stances`): the base, the corners that are
    worst at rest or at that stance, and the Sobol sample, or as many of it as `settings` asks for. Sliders that
    move joints are part of the shape: in the sample they have values of their own at every stance that does not set
    them, in the modelled pose too. Their ends are stances of `find_stances`; beside these, in every pose, that end is
    looked at which the closed form finds worst.

    Args:
        fits: Garments by key.
        settings: Ends, pairs and the size of the Sobol sample.
        worst: Most corners to add, those that threaten the garment most; 0 for none.
        stances: Stances to check at beside rest.

    Raises: As `posed_fit`, where there are stances.
    """
    bodies = {id(fit.body): fit.body for fit in fits.values()}
    common = {number: shapes_of(body, settings=settings) for number, body in bodies.items()}
    chosen = {}
    for key, fit in fits.items():
        base, *rest = common[id(fit.body)]
        if isinstance(fit, ShapedFit) and fit.fixed is not None:
            chosen[key] = [*fit.fixed, *posed_shapes(fit, fit.fixed, (), stances, worst=0)]
            continue
        corners = [threat.shape for threat in worst_of(fit, most=worst)]
        chosen[key] = distinct([base, *corners, *rest])
        if stances:
            sample = sobol_shapes(fit.body.range, (settings or ShapeSettings()).sampled_at_stances)
            there = moving_stances(fit, stances)
            chosen[key] += posed_shapes(fit, distinct([base, *corners]), sample, there, worst=worst)
    return chosen


def run_sweep(
    fits: Mapping[str, Fit],
    shapes: Mapping[str, Sequence[Shape]],
    *,
    bands: Bands = DEFAULT_BANDS,
    under: Mapping[str, Sequence[str]] | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    store: KeptRows | None = None,
    wardrobe: Wardrobe[GarmentOnBody] | None = None,
    goes_on: bool = False,
) -> SweepResult:
    """Measure every garment on every one of its shapes.

    Rows do not depend on the number of processes. With more than one, the script that calls this must be importable
    (`if __name__ == "__main__":`), as for every spawned process.

    Args:
        fits: Garments by key, all of one body or each of its own; a key is any name, for instance the garment's and
            its method.
        shapes: Shapes by the same keys.
        bands: From which value on a fault is slight, moderate, grave.
        under: For each key, the keys of the garments worn under it, to find layers that swap.
        workers: Processes that measure at the same time; 1 measures in this process.
        progress: Called after every row with the number of rows done and the total.
        store: Where finished rows are kept and looked up.
        wardrobe: Garments prepared earlier with the same bands; used and filled when there is one process, or fewer
            garments than processes, to which they then go as they are: they are prepared while processes start.
        goes_on: Whether a garment that cannot be measured is told in the result, as long as there are others.

    Raises:
        ArgumentError: shapes or layers name a garment that is not among `fits`, or `workers` is under 1.
        DressformError: a process ended without reporting an error, or a garment cannot be measured; where the others
            go on, none can.
    """
    start = perf_counter()
    _check(fits, shapes, under or {}, workers)
    for key, wanted in shapes.items():
        if isinstance(fit := fits[key], ShapedFit):
            fit.learn(wanted)
    stances = tuple(dict.fromkeys(one.stance for wanted in shapes.values() for one in wanted if one.stance is not None))
    job = SweepJob(fits, bands, under or {}, goes_on, stances)
    keys = _row_keys(job, shapes) if store is not None else {}
    total = sum(len(wanted) for wanted in shapes.values())
    found = _kept(keys, store)
    if progress is not None:
        progress(len(found), total)
    batches = _batches(shapes, found, stances)
    alone = workers == 1 or not batches
    if not alone:
        start_server(job)
        job = _shipped(job, {batch.garment for batch in batches}, wardrobe or plain_wardrobe(bands=bands), workers)
    events = measure_here(job, batches, wardrobe) if alone else run_spread(job, batches, workers=workers)
    prepared: dict[str, float] = {}
    failed: dict[str, DressformError] = {}
    # Closed at once when anything goes wrong, so that no process outlives the call.
    with closing(events):
        for event in events:
            if isinstance(event, CheckPrepared):
                prepared.setdefault(event.garment, event.seconds)
            elif isinstance(event, GarmentFailed):
                failed.setdefault(event.garment, event.error)
            elif isinstance(event, ShapeMeasured):
                found[event.garment, event.place] = event.faults, event.seconds, False
                if store is not None:
                    store.put(keys[event.garment, event.place], event.faults, event.seconds)
                if progress is not None:
                    progress(len(found), total)
    sound = {key: wanted for key, wanted in shapes.items() if key not in failed}
    if failed and not sound:
        raise next(iter(failed.values()))
    rows = tuple(
        SweepRow(key, shape.label, shape.weights, *found[key, place], shape.stance)
        for key, wanted in sound.items()
        for place, shape in enumerate(wanted)
    )
    reasons = {key: str(error) for key, error in failed.items()}
    return SweepResult(rows, {key: prepared.get(key, 0.0) for key in sound}, perf_counter() - start, reasons)


def _shipped(job: SweepJob, garments: Collection[str], wardrobe: Wardrobe[GarmentOnBody], workers: int) -> SweepJob:
    """The job with its garments prepared, where there are fewer than processes: else each would prepare them anew."""
    ready: dict[str, tuple[GarmentOnBody, float]] = {}
    for key in sorted(garments) if len(garments) < workers else ():
        start = perf_counter()
        with suppress(DressformError):  # the process that measures it will say
            worn = wardrobe.worn(job.fits[key], under=[job.fits[below] for below in job.under.get(key, ())])
            worn.prepare()
            ready[key] = worn, perf_counter() - start
    return replace(job, ready=ready)


def _check(
    fits: Mapping[str, Fit], shapes: Mapping[str, Sequence[Shape]], under: Mapping[str, Sequence[str]], workers: int
) -> None:
    """Refuse names without a garment, and an impossible number of processes."""
    named = {"shapes": list(shapes), "under": [*under, *(key for below in under.values() for key in below)]}
    for argument, keys in named.items():
        unknown = [key for key in keys if key not in fits]
        if unknown:
            raise ArgumentError.of(
                "run_sweep", argument, f"for the garments {', '.join(fits)}", repr(unknown[0]), "Use one of these keys"
            )
    if workers < 1:
        raise ArgumentError.of("run_sweep", "workers", "1 or more", workers, "Name a number of processes")


def _row_keys(job: SweepJob, shapes: Mapping[str, Sequence[Shape]]) -> dict[tuple[str, int], bytes]:
    """Hash of everything that each row depends on."""
    bodies = {id(fit.body): fit.body for fit in job.fits.values()}
    skins = {number: content_hash(body) for number, body in bodies.items()}
    worn = {key: content_hash(fit.garment, fit.base, fit.deltas) for key, fit in job.fits.items()}
    keys = {}
    for key, wanted in shapes.items():
        fit = job.fits[key]
        below = [worn[other] for other in job.under.get(key, ())]
        common = content_hash(skins[id(job.fits[key].body)], worn[key], below, job.bands)
        carried = content_hash(*(job.fits[other].skin for other in (key, *job.under.get(key, ()))))
        for place, shape in enumerate(wanted):
            weights, stance = np.asarray(shape.weights, dtype=np.float64), shape.stance
            there = () if stance is None else (carried, stance.name, stance.pose, stance.worlds)
            told = () if fit.is_linear else (fit.at(weights), None if stance is None else fit.posed_at(weights, stance))
            keys[key, place] = content_hash(common, weights, *there, *told)
    return keys


def _kept(keys: Mapping[tuple[str, int], bytes], store: KeptRows | None) -> Found:
    """Rows that are already in the store."""
    found: Found = {}
    if store is not None:
        for place, key in keys.items():
            row = store.get(key)
            if row is not None:
                found[place] = *row, True
    return found


def _batches(shapes: Mapping[str, Sequence[Shape]], found: Found, stances: Sequence[Stance]) -> list[Batch]:
    """The shapes left to measure, a few of one garment at a time; one shape at several stances together."""
    number = {id(stance): index for index, stance in enumerate(stances)}
    batches = []
    for key, wanted in shapes.items():
        left = [place for place in range(len(wanted)) if (key, place) not in found]
        while left:
            count = min(BATCH, len(left))
            last = wanted[left[count - 1]]
            while count < min(MOST_AT_ONCE, len(left)) and _same_posed(last, wanted[left[count]]):
                count += 1
            places, left = left[:count], left[count:]
            numbers = tuple(-1 if (it := wanted[place].stance) is None else number[id(it)] for place in places)
            batches.append(Batch(key, tuple(places), np.array([wanted[place].weights for place in places]), numbers))
    return batches


def _same_posed(first: Shape, second: Shape) -> bool:
    """Whether two are one shape at stances."""
    return first.stance is not None and second.stance is not None and first.weights is second.weights
