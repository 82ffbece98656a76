"""Fitting several garments, each by several methods, and checking them together."""

import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shape_settings import ShapeSettings
from dressform.faults.severity import Bands
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
    store: Path | None = None,
    progress: Progress,
) -> CheckResult:
    """Fit every garment by every method named, by its own where none is, and check all of them together."""
    tree = Tree(body.vertices, body.faces)
    fits, seconds = {}, {}
    for garment, following in garments:
        for method in methods or (following.method,):
            start, key = time.perf_counter(), key_of(garment.name, method)
            fits[key] = fit(body, garment, replace(following, method=method), tree=tree)
            seconds[key] = time.perf_counter() - start
    result = check(fits, shapes=shapes, bands=bands, workers=workers, causes=causes, store=store, progress=progress)
    return replace(result, setup_seconds=seconds)
