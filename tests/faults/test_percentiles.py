import numpy as np
import pytest

from dressform.faults.percentiles import percentiles, reached


def test_equal_areas_give_the_median():
    rng = np.random.default_rng(1)
    values = rng.normal(size=1001)
    (median,) = percentiles(values, np.ones(1001), (50.0,))
    assert median == pytest.approx(np.median(values), abs=1e-12)


def test_a_uniform_ramp_has_its_percentage_as_percentile():
    values = np.linspace(0.0, 100.0, 20001)
    found = percentiles(values, np.full(20001, 0.3), (5.0, 50.0, 95.0, 99.0))
    np.testing.assert_allclose(found, (5.0, 50.0, 95.0, 99.0), atol=0.01)


def test_splitting_samples_changes_nothing():
    rng = np.random.default_rng(2)
    values, areas = rng.normal(size=4000), rng.uniform(0.5, 1.5, 4000)
    whole = percentiles(values, areas, (5.0, 95.0))
    split = percentiles(np.repeat(values, 4), np.repeat(areas / 4, 4), (5.0, 95.0))
    np.testing.assert_allclose(split, whole, atol=0.01)


def test_samples_without_area_do_not_count():
    values = np.array([1.0, 2.0, 3.0, 1000.0])
    areas = np.array([1.0, 1.0, 1.0, 0.0])
    assert percentiles(values, areas, (50.0,)) == (2.0,)


def test_nothing_has_percentiles_of_zero():
    assert percentiles(np.zeros(0), np.zeros(0), (5.0, 95.0)) == (0.0, 0.0)


def test_the_value_that_an_area_reaches_does_not_depend_on_the_mesh():
    values = np.linspace(0.0, 1.0, 1000)
    for times in (1, 4, 16):
        areas = np.full(1000 * times, 1.0 / 1000 / times)
        found = reached(np.repeat(values, times), areas, 0.25)
        assert found == pytest.approx(0.75, abs=0.001)


def test_of_less_area_than_asked_the_least_value_is_reached():
    assert reached(np.array([3.0, 1.0, 2.0]), np.ones(3), 10.0) == 1.0
    assert reached(np.zeros(0), np.zeros(0), 1.0) == 0.0
