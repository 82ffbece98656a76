"""The interval of a mean over garments."""

import numpy as np
import pytest
from scipy.stats import bootstrap

from dressform.jobs.compare.interval import RESAMPLES, mean_interval


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_interval_is_that_of_a_reference_library(seed: int) -> None:
    values = np.random.default_rng(seed).gamma(2.0, 3.0, 12)
    theirs = bootstrap((values,), np.mean, n_resamples=RESAMPLES, method="percentile", rng=0).confidence_interval
    ours = mean_interval(values)
    assert ours is not None
    width = theirs.high - theirs.low
    assert ours[0] == pytest.approx(theirs.low, abs=0.03 * width)
    assert ours[1] == pytest.approx(theirs.high, abs=0.03 * width)


def test_one_value_has_no_interval_and_equal_values_have_none_to_speak_of() -> None:
    assert mean_interval(np.array([3.0])) is None
    assert mean_interval(np.array([3.0, 3.0, 3.0])) == (3.0, 3.0)
