"""The times that a sweep tells are parts of its own time."""

import time

import numpy as np
import pytest

from dressform.body.shapes import distinct, end_shapes, shape_at_base
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.sweep.run import run_sweep
from lift_phantoms import body_of, sphere


@pytest.mark.parametrize("workers", [1, 2])
def test_the_seconds_of_all_rows_and_their_preparation_fit_into_the_sweep(workers: int) -> None:
    skin = sphere(0.2, rows=16, columns=24)
    body = body_of(skin, grow=0.2 * skin[0])
    vertices, faces = sphere(0.23, rows=14, columns=20, twist=0.1)
    fit = Fit(body, Garment.of("shell", vertices, faces), DEFAULT_FOLLOWING, vertices, 0.2 * vertices[None])
    shapes = {"shell": distinct([shape_at_base(body.range), *end_shapes(body.range)])}
    start = time.perf_counter()
    result = run_sweep({"shell": fit}, shapes, workers=workers)
    elapsed = time.perf_counter() - start
    assert 0 < result.seconds <= elapsed
    assert 0 < result.prepare_seconds["shell"] <= workers * result.seconds
    assert min(row.seconds for row in result.rows) > 0
    assert sum(row.seconds for row in result.rows) <= workers * result.seconds
    assert np.isfinite(result.seconds)
