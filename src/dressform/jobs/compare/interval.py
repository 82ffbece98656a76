"""A 95 % interval of a mean over garments, by the bootstrap."""

import numpy as np
from jaxtyping import Float

RESAMPLES = 9999
SEED = 20
LEVEL = 0.95


def mean_interval(values: Float[np.ndarray, " N"]) -> tuple[float, float] | None:
    """Ends of the 95 % percentile interval of the mean; None for fewer than two values.

    Of few garments it is too narrow: it says how much they differ among themselves, not how others would.

    Source: the percentile bootstrap [Efron1979].
    Proof: tests/jobs/compare/test_interval.py::test_the_interval_is_that_of_a_reference_library
    """
    if len(values) < 2:
        return None
    drawn = np.random.default_rng(SEED).integers(0, len(values), (RESAMPLES, len(values)))
    means = values[drawn].mean(axis=1)
    low, high = np.percentile(means, [50 * (1 - LEVEL), 50 * (1 + LEVEL)])
    return float(low), float(high)
