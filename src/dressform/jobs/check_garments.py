"""Fitting several garments, each by several methods, and checking them together."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shape_settings import ShapeSettings
from dressform.faults.severity import Bands
from dressform.fit.fit import Fit
from dressform.formats.results.check_schema import key_of
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.check import check
from dressform.jobs.check_result import CheckResult
from dressform.jobs.fit import fit
from dressform.jobs.progress import Progress
from dressform.mesh.tree import Tree


def check_garments(
    body: Body,
    garments: Sequence[tuple[Garment, Following]],
    methods: Sequence[str],
    *,
    shapes: ShapeSettings | int,
    bands: Bands,
    workers: int,
    causes: bool = True,
    worn: Sequence[str] = (),
    store: Path | None = None,
    progress: Progress,
) -> CheckResult:
    """Fit every garment by every method named, by its own where none is, and check all of them together.

    Args:
        worn: Names of garments that are worn together, from the skin outward.
    """
    tree = Tree(body.vertices, body.faces)
    fits, seconds = {}, {}
    for garment, following in garments:
        for method in methods or (following.method,):
            start, key = time.perf_counter(), key_of(garment.name, method)
            fits[key] = fit(body, garment, replace(following, method=method), tree=tree)
            seconds[key] = time.perf_counter() - start
    under = layers_under(fits, worn)
    result = check(
        fits, shapes=shapes, bands=bands, workers=workers, causes=causes, under=under, store=store, progress=progress
    )
    return replace(result, setup_seconds=seconds)


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
