"""Corners where the search has to choose: a deep speck beside a shallow plain, and more points than it looks at."""

import itertools

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.sweep.worst import SAMPLE, Covered, worst_shapes

SPECK, PLAIN = 1e-9, 1e-4  # m²
MARGIN = DEFAULT_FOLLOWING.margin


def still(count: int) -> Fit:
    """A body with so many morphs, and cloth: only the range matters where the pairs are given."""
    corners, faces = np.eye(3), np.array([[0, 1, 2]])
    names = tuple(f"morph {number}" for number in range(count))
    deltas = np.zeros((count, 3, 3))
    body = Body("still", corners, faces, names, deltas, Range.unit(names))
    return Fit(body, Garment.of("cloth", corners, faces), DEFAULT_FOLLOWING, corners, deltas)


@pytest.fixture
def speck_beside_a_plain() -> Covered:
    """Morph 0 sinks a plain by 8 mm and morph 1 raises it; only morph 1 sinks the speck, by 50 mm."""
    areas = np.append(np.full(100, PLAIN), SPECK)
    slopes = np.array([[-0.008] * 100 + [0.01], [0.02] * 100 + [-0.05]])
    return Covered(areas, np.full(101, 0.003), slopes)


def test_the_deepest_speck_has_a_corner_of_its_own_however_small_it_is(speck_beside_a_plain: Covered) -> None:
    threats = worst_shapes(still(2), covered=speck_beside_a_plain)
    assert [threat.shape.weights.tolist() for threat in threats] == [[1.0, 0.0], [0.0, 1.0]]
    assert threats[0].threatened_area == pytest.approx(100 * PLAIN)
    assert threats[1].threatened_area == pytest.approx(SPECK)
    assert threats[1].min_clearance == pytest.approx(0.003 - 0.05)


def test_no_more_corners_are_given_than_asked_for(speck_beside_a_plain: Covered) -> None:
    threats = worst_shapes(still(2), covered=speck_beside_a_plain, most=1)
    assert [threat.shape.weights.tolist() for threat in threats] == [[1.0, 0.0]]


@pytest.mark.parametrize("seed", range(5))
def test_a_sample_of_many_points_finds_a_corner_that_threatens_nearly_as_much_as_the_best(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = 4 * SAMPLE
    places = rng.normal(size=(count, 2))
    waves = np.sin(places @ rng.normal(size=(2, 6)) + rng.uniform(0, 6, 6)).T
    pairs = Covered(rng.uniform(0.5, 2.0, count) * 1e-5, np.full(count, 0.004), 0.005 * waves)
    first = worst_shapes(still(6), covered=pairs)[0].shape.weights
    corners = np.array(list(itertools.product((0.0, 1.0), repeat=6)))
    threatened = np.maximum(MARGIN - pairs.at(corners), 0.0) @ pairs.areas
    assert (pairs.at(corners).min(axis=0) < MARGIN).sum() > SAMPLE
    found = np.maximum(MARGIN - pairs.at(first[None])[0], 0.0) @ pairs.areas
    assert found > 0.98 * threatened.max()
