"""Checking: every fault of fitted garments over the range of their body, and why each is there."""

import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shape_settings import DEFAULT_AT_STANCES
from dressform.body.shapes import Shape, ShapeSettings
from dressform.body.stance import Stance
from dressform.calls import called, refuse_misfit
from dressform.causes.explained_garment import ExplainedGarment, explained_wardrobe
from dressform.errors import ArgumentError
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.wardrobe import Wardrobe
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import keeps_own
from dressform.formats.results.check_schema import key_of
from dressform.jobs.arguments import refuse_stances, refuse_workers, shape_settings
from dressform.jobs.check_report import failed_garment
from dressform.jobs.check_result import CheckResult
from dressform.jobs.explain.explain import explain, others_of
from dressform.jobs.progress import Progress, stage
from dressform.jobs.provenance import now
from dressform.sweep.own_weights import judge_own
from dressform.sweep.results import SweepResult, SweepRow
from dressform.sweep.run import REPAIR_SHAPES, choose_shapes, run_sweep
from dressform.sweep.search import search_worse
from dressform.sweep.store import KeptRows, RowStore

DEFAULT_SHAPES = ShapeSettings(at_stances=DEFAULT_AT_STANCES)

STILL_NAMED = 4
"""Of the stances at which a garment is still so many are named."""

Fits = Fit | Sequence[Fit] | Mapping[str, Fit]
"""One fit, several, or several by keys of one's own."""


@called(
    "check",
    apart=(
        "fits",
        "shapes",
        "stances",
        "workers",
    ),
)
def check(
    fits: Fits,
    *,
    shapes: ShapeSettings | int = DEFAULT_SHAPES,
    stances: Sequence[Stance] = (),
    bands: Bands = DEFAULT_BANDS,
    workers: int = 1,
    causes: bool = True,
    others: Sequence[Body] | None = None,
    under: Mapping[str, Sequence[str]] | None = None,
    store: Path | str | KeptRows | None = None,
    wardrobe: Wardrobe[ExplainedGarment] | None = None,
    progress: Progress | None = None,
) -> CheckResult:
    """Measure every fault of garments over the range of their body, and find out why each is there.

    Of several garments one that cannot be measured is told in `CheckResult.failed`, and the others go on.

    Args:
        fits: What to check: one fit, or several of one body.
        shapes: Which shapes are looked at, beside the base and the worst corners of the range: a number for that many
            evenly spread ones, beside the ends of every morph and the pairs of the strongest. Left out: 64, and at
            each stance 8 of them.
        stances: Stances to measure at beside rest: at each the base, the worst corners and the evenly spread shapes,
            then what a search from the worst of them finds. Where neither a garment nor the skin near it moves, its
            faults are those of rest, and a note says so. The body needs joints, and every fit joint weights.
        bands: From which value on a fault is slight, moderate, grave.
        workers: Processes that measure at the same time. With more than one the script must be importable
            (`if __name__ == "__main__":`).
        causes: Whether causes are sought.
        others: Other base bodies on which a garment may have been modelled; those of the body's file if left out.
        under: For each key the keys of the garments worn under it, so that layers that pierce each other are found.
        store: File that keeps finished rows, so that an interrupted check goes on; or what else keeps them.
        wardrobe: What is prepared of the garments already; it then says `bands` and `others`.
        progress: Told how far it has come.

    Raises:
        ArgumentError: no fits, or two garments of one name and method, or of different bodies; stances of which two
            have one name, or that body or cloth cannot take.
        FileError: the store cannot be used.

    Proof: tests/jobs/test_front_door.py
    """
    start, looked = time.perf_counter(), shape_settings("check", shapes, DEFAULT_SHAPES)
    refuse_workers("check", workers)
    by_key = keyed(fits)
    if wardrobe is None:
        body = next(iter(by_key.values())).body
        wardrobe = explained_wardrobe(bands=bands, others=others_of(body) if others is None else others)
    refuse_stances("check", stances, by_key.values())
    chosen = choose_shapes(by_key, settings=looked, stances=stances)
    with _opened(store) as rows:
        swept = run_sweep(
            by_key,
            chosen,
            bands=bands,
            under=under,
            workers=workers,
            progress=stage(progress, "measuring"),
            store=rows,
            wardrobe=wardrobe,
            goes_on=len(by_key) > 1,
        )
    sound = {key: one for key, one in by_key.items() if key not in swept.failed}
    below = {key: [one for one in keys if one in sound] for key, keys in (under or {}).items() if key in sound}
    swept = _searched(sound, swept, below, stances, wardrobe) if stances else swept
    notes = _notes(sound, chosen, stances, _judged(sound, swept, below, stances, wardrobe))
    seconds = time.perf_counter() - start
    failed = tuple(failed_garment(by_key[key], "measured", reason) for key, reason in swept.failed.items())
    result = CheckResult(
        sound,
        swept,
        None,
        looked,
        bands,
        workers,
        now(),
        seconds,
        wardrobe,
        under=below,
        failed=failed,
        stances=tuple(stances),
        notes=notes,
    )
    return explain(result, progress=progress) if causes else result


def _searched(
    fits: Mapping[str, Fit],
    swept: SweepResult,
    under: Mapping[str, Sequence[str]],
    stances: Sequence[Stance],
    wardrobe: Wardrobe[ExplainedGarment],
) -> SweepResult:
    """A sweep with the worse shapes at stances that a search finds."""
    found: list[SweepRow] = []
    for key, fit in fits.items():
        worn = wardrobe.worn(fit, under=[fits[one] for one in under.get(key, ())])
        found += search_worse(worn, swept.of(key), stances)
    return swept.with_rows(found)


def _notes(
    fits: Mapping[str, Fit],
    chosen: Mapping[str, Sequence[Shape]],
    stances: Sequence[Stance],
    judged: Mapping[str, tuple[str, ...]],
) -> dict[str, tuple[str, ...]]:
    """What must be known of each garment: at which stances it was not looked at, and of its own joint weights."""
    notes = dict[str, tuple[str, ...]]()
    for key in fits:
        moved = {shape.stance.pose for shape in chosen[key] if shape.stance is not None}
        still = [one.name for one in stances if one.pose not in moved]
        told = (_still_note(still, len(stances)),) if still else ()
        if told or key in judged:
            notes[key] = (*told, *judged.get(key, ()))
    return notes


def _still_note(still: Sequence[str], of: int) -> str:
    few = ", ".join(still[:STILL_NAMED]) + (f" and {len(still) - STILL_NAMED} more" if len(still) > STILL_NAMED else "")
    where = f"{len(still)} of {of} stances" if of > 1 else "the stance"
    return f"At {where} neither it nor the skin near it moves: its faults there are those of the modelled pose ({few})."


def _judged(
    fits: Mapping[str, Fit],
    swept: SweepResult,
    under: Mapping[str, Sequence[str]],
    stances: Sequence[Stance],
    wardrobe: Wardrobe[ExplainedGarment],
) -> dict[str, tuple[str, ...]]:
    """Of garments with joint weights of their own, whether lifted ones would be better."""
    notes = dict[str, tuple[str, ...]]()
    for key, fit in fits.items():
        if stances and keeps_own(fit):
            worn = wardrobe.worn(fit, under=[fits[one] for one in under.get(key, ())])
            judged = judge_own(worn, swept.of(key), stances)
            if judged is not None:
                notes[key] = (judged.note,)
    return notes


def check_outfit(
    fits: Sequence[Fit],
    *,
    shapes: ShapeSettings | int = REPAIR_SHAPES,
    stances: Sequence[Stance] = (),
    progress: Progress | None = None,
) -> CheckResult:
    """Check garments as worn together: also where a layer comes through those over it. Causes are not sought.

    Args:
        fits: The garments from the skin outward, all of one body and of different names or methods.
        shapes, stances: As for `check`.
        progress: Told how far it has come.
    """
    by_key = keyed(fits)
    keys = list(by_key)
    under = {key: keys[:number] for number, key in enumerate(keys)}
    return check(by_key, shapes=shapes, stances=stances, causes=False, under=under, progress=progress)


def keyed(fits: Fits) -> dict[str, Fit]:
    """Fits by garment and method, or by the keys given.

    Raises:
        ArgumentError: there are none, two have one key, or they are of different bodies.
    """
    if isinstance(fits, Mapping):
        found = dict(fits)
    else:
        listed = [fits] if isinstance(fits, Fit) else list(fits) if isinstance(fits, Iterable) else [fits]
        for one in listed:  # before it is asked for its garment
            refuse_misfit("check", "fits", one, Fit)
        found = {key_of(fit.garment.name, fit.following.method): fit for fit in listed}
        if len(found) < len(listed):
            rule, advice = "of different garments or methods", "Give them keys: check({'tight': one, 'loose': other})"
            raise ArgumentError.of("check", "fits", rule, f"{len(listed)} with {len(found)} names", advice)
    if not found:
        raise ArgumentError.of("check", "fits", "one fit or more", "none", "Make one with fit")
    for one in found.values():
        refuse_misfit("check", "fits", one, Fit)
    bodies = {id(fit.body): fit.body.name for fit in found.values()}
    if len(bodies) != 1:
        observed = ", ".join(bodies.values())
        raise ArgumentError.of("check", "fits", "of one body", observed, "Check each body by itself")
    return found


@contextmanager
def _opened(store: Path | str | KeptRows | None) -> Iterator[KeptRows | None]:
    if isinstance(store, Path | str):
        with RowStore(Path(store)) as rows:
            yield rows
    else:
        yield store
