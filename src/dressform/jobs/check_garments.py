"""Fitting several garments, each by several methods, and checking them together."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shape_settings import ShapeSettings
from dressform.body.stance import Stance
from dressform.errors import ArgumentError, DressformError
from dressform.faults.severity import Bands
from dressform.fit.fit import Fit
from dressform.formats.frames.plausible import refuse_still
from dressform.formats.results.check_schema import key_of
from dressform.formats.results.failed import FailedGarment
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.check import check
from dressform.jobs.check_report import garment_source
from dressform.jobs.check_result import CheckResult
from dressform.jobs.fit import fit
from dressform.jobs.load_garments import none_left
from dressform.jobs.progress import Progress
from dressform.mesh.tree import Tree


def check_garments(
    body: Body,
    garments: Sequence[tuple[Garment, Following]],
    methods: Sequence[str],
    *,
    shapes: ShapeSettings | int,
    stances: Sequence[Stance] = (),
    bands: Bands,
    workers: int,
    causes: bool = True,
    worn: Sequence[str] = (),
    store: Path | None = None,
    failed: Sequence[FailedGarment] = (),
    progress: Progress,
) -> CheckResult:
    """Fit every garment by every method named, by its own where none is, and check all of them together.

    Of several garments one that cannot be fitted or measured is told in the result, and the others go on.

    Args:
        stances: Stances to measure at beside rest.
        worn: Names of garments that are worn together, from the skin outward.
        failed: Those that could not be read; the result tells them too.

    Raises:
        DressformError: no garment can be fitted.
        ArgumentError: how a garment is to follow is not valid for it.
    """
    refuse_still(body)
    made = _fitted(body, garments, methods, is_alone=len(garments) + len(failed) == 1 and len(methods) < 2)
    broken = (*failed, *made.failed)
    if not made.fits:
        raise none_left(broken)
    under = layers_under(made.fits, [name for name in worn if name in {one.garment.name for one in made.fits.values()}])
    result = check(
        made.fits, shapes=shapes, stances=stances, bands=bands, workers=workers, causes=causes, under=under,
        store=store, progress=progress,
    )  # fmt: skip
    return replace(result, setup_seconds=made.seconds, failed=(*broken, *result.failed))


@dataclass
class _Fitted:
    """Fits and what each took, by key, and garments that cannot be fitted."""

    fits: dict[str, Fit] = field(default_factory=dict)
    seconds: dict[str, float] = field(default_factory=dict)
    failed: list[FailedGarment] = field(default_factory=list)


def _fitted(
    body: Body, garments: Sequence[tuple[Garment, Following]], methods: Sequence[str], *, is_alone: bool
) -> _Fitted:
    """Every garment fitted by every method."""
    tree, made = Tree(body.vertices, body.faces), _Fitted()
    for garment, following in garments:
        for method in methods or (following.method,):
            start, key = time.perf_counter(), key_of(garment.name, method)
            try:
                made.fits[key] = fit(body, garment, replace(following, method=method), tree=tree)
            except ArgumentError:  # a wrong call, whatever the garment
                raise
            except DressformError as error:
                if is_alone:
                    raise
                file, reason = garment_source(garment).file, str(error)
                one = FailedGarment(name=garment.name, file=file, method=method, stage="fitted", reason=reason)
                made.failed.append(one)
            made.seconds[key] = time.perf_counter() - start
    return made


def layers_under(fits: Mapping[str, Fit], worn: Sequence[str]) -> dict[str, list[str]]:
    """For each fit that is worn together with others, those under it that follow by the same method."""
    under: dict[str, list[str]] = {}
    for key, one in fits.items():
        if one.garment.name in worn:
            inner = worn[: worn.index(one.garment.name)]
            names = [key_of(name, one.following.method) for name in inner]
            own = {other.garment.name: name for name, other in fits.items()}
            under[key] = [name if name in fits else own[below] for name, below in zip(names, inner)]
    return under
