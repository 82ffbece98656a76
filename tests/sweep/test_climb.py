"""The ascent from corner to corner: no step may threaten less than the corner that it left."""

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.sweep.worst import Covered, _climb


@pytest.mark.parametrize("seed", range(20))
def test_from_any_corner_the_ascent_reaches_one_that_adds_at_least_as_much_however_uneven_the_areas(seed: int) -> None:
    """Areas over four decades: what counts is skin, not the number of vertices."""
    rng = np.random.default_rng(seed)
    box = Range(tuple("abcdef"), np.full(6, -0.7), np.full(6, 1.0))
    pairs = Covered(10.0 ** rng.uniform(-6, -2, 60), rng.uniform(0.0, 0.01, 60), rng.normal(scale=0.01, size=(6, 60)))
    allowed, reached = np.full(60, 0.002), rng.uniform(0.0, 0.002, 60)
    for pattern in rng.integers(0, 2, size=(16, 6)):
        start = np.where(pattern > 0, box.high, box.low)
        _, gains = _climb(box, pairs, allowed, reached, start[None])
        before = np.maximum(allowed - pairs.at(start[None]) - reached, 0.0) @ pairs.areas
        assert gains.max() >= before[0] * (1 - 1e-12)
