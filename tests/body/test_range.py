"""The box minimum is exact, and every bad interval is refused by name."""

import itertools

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.errors import ArgumentError


@pytest.mark.parametrize("seed", range(8))
def test_minimum_over_the_box_equals_the_smallest_of_all_corners(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = 6
    low = rng.uniform(-1, 0.5, count)
    box = Range(tuple("abcdef"), low, low + rng.uniform(0, 2, count))
    base, slopes = rng.normal(size=40), rng.normal(size=(count, 40))
    corners = np.array(list(itertools.product(*zip(box.low, box.high))))
    values = base + corners @ slopes
    assert np.allclose(box.minimum(base, slopes), values.min(axis=0), atol=1e-13)
    at_minimiser = np.where(box.minimiser(slopes), box.high, box.low)
    assert np.allclose(base + np.einsum("nk,kn->n", at_minimiser, slopes), values.min(axis=0), atol=1e-13)


def test_a_reversed_interval_is_refused_by_the_morph_s_name() -> None:
    with pytest.raises(ArgumentError, match=r"`belly` must be a finite interval.*got \[1, 0\]"):
        Range(("belly",), np.array([1.0]), np.array([0.0]))


def test_a_missing_interval_is_refused() -> None:
    with pytest.raises(ArgumentError, match="one value for each of 2 morphs"):
        Range(("belly", "hips"), np.array([0.0]), np.array([1.0]))


def test_weights_outside_their_intervals_are_told_by_name() -> None:
    box = Range(("belly", "hips", "arms"), np.array([0.0, -1.0, 0.0]), np.array([1.0, 1.0, 2.0]))
    assert box.outside(np.array([1.0, -1.0, 0.5])) == ()
    told = box.outside(np.array([1.5, -1.25, 2.0]))
    assert len(told) == 2
    assert told[0].startswith("belly=1.5 lies outside the range [0, 1]")
    assert told[1].startswith("hips=-1.25 lies outside the range [-1, 1]")


@pytest.mark.parametrize("weight", [99.0, -11.0, 1e300, np.nan, np.inf])
def test_absurd_weights_are_refused(weight: float) -> None:
    box = Range(("belly",), np.array([0.0]), np.array([1.0]))
    box.refuse_absurd("measure", np.array([10.0]))
    with pytest.raises(ArgumentError, match=r"`weights` must be between -10 and 11 for belly, whose range is \[0, 1\]"):
        box.refuse_absurd("measure", np.array([weight]))
