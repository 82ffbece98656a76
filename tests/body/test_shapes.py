"""Shape sets hold what they promise, once each, inside the range."""

import itertools

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import (
    Shape,
    ShapeSettings,
    distinct,
    end_shapes,
    label_of,
    morph_strengths,
    pair_shapes,
    shape_at_base,
    shapes_of,
    sobol_shapes,
)
from dressform.errors import ArgumentError

NAMES = ("belly", "hips", "height")
TETRAHEDRON = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
TETRAHEDRON_FACES = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
TETRAHEDRON_AREA = 1.5 + np.sqrt(3) / 2


def body(low: tuple[float, ...] = (0, 0, 0), high: tuple[float, ...] = (1, 1, 1)) -> Body:
    """A tetrahedron whose morphs move all of it by 1, 2 and 3 metres."""
    deltas = np.zeros((3, 4, 3))
    deltas[:, :, 1] = np.array([[1.0], [2.0], [3.0]])
    box = Range(NAMES, np.array(low, dtype=float), np.array(high, dtype=float))
    return Body("tetrahedron", TETRAHEDRON, TETRAHEDRON_FACES, NAMES, deltas, box)


def test_ends_of_a_unit_range_are_the_base_and_each_morph_alone() -> None:
    labels = [shape.label for shape in end_shapes(body().range)]
    assert labels == ["base", "belly=1", "hips=1", "height=1"]


def test_an_end_that_is_not_zero_is_a_shape_of_its_own() -> None:
    shapes = end_shapes(body(low=(-0.5, 0, 0), high=(1.5, 1, 1)).range)
    assert {shape.label for shape in shapes} == {"belly=-0.5", "belly=1.5", "base", "hips=1", "height=1"}


def test_strength_of_a_rigid_shift_is_area_times_distance_times_reach() -> None:
    assert np.allclose(morph_strengths(body()), TETRAHEDRON_AREA * np.array([1, 2, 3]), rtol=1e-12)
    assert np.allclose(morph_strengths(body(low=(-4, 0, 0))), TETRAHEDRON_AREA * np.array([4, 2, 3]), rtol=1e-12)


def test_pairs_are_those_of_the_strongest_morphs() -> None:
    labels = {shape.label for shape in pair_shapes(body(), strongest=2)}
    assert labels == {"base", "hips=1", "height=1", "hips=1 height=1"}


def test_pairs_reach_all_four_combinations_of_ends() -> None:
    shapes = pair_shapes(body(low=(-1, -2, -3)), strongest=3)
    for first, second in itertools.combinations(range(3), 2):
        seen = {(shape.weights[first], shape.weights[second]) for shape in shapes}
        assert set(itertools.product((-1.0 - first, 1.0), (-1.0 - second, 1.0))) <= seen


@pytest.mark.parametrize("count", [1, 2, 7, 64, 100])
def test_a_sobol_sample_stays_in_the_range_and_has_the_size_asked_for(count: int) -> None:
    box = body(low=(-1, 0, 2), high=(1, 0.5, 3)).range
    shapes = sobol_shapes(box, count)
    assert len(distinct(shapes)) == count
    assert all(box.contains(shape.weights) for shape in shapes)


def test_a_power_of_two_sample_puts_one_shape_in_every_slice_of_each_morph() -> None:
    weights = np.array([shape.weights for shape in sobol_shapes(body().range, 64)])
    for morph in range(3):
        assert np.array_equal(np.sort(np.floor(weights[:, morph] * 64)), np.arange(64))


def test_a_smaller_sample_begins_a_larger_one() -> None:
    small, large = sobol_shapes(body().range, 5), sobol_shapes(body().range, 70)
    assert [shape.label for shape in small] == [f"sobol {number}" for number in range(1, 6)]
    assert np.array_equal([shape.weights for shape in small], [shape.weights for shape in large[:5]])


def test_a_negative_sample_is_refused() -> None:
    with pytest.raises(ArgumentError, match=r"`count` must be 0 to 100,000, got -1"):
        sobol_shapes(body().range, -1)


def test_weights_that_differ_only_in_the_sign_of_zero_are_one_shape() -> None:
    shapes = [Shape("first", np.array([0.0, 1])), Shape("second", np.array([-0.0, 1])), Shape("third", np.ones(2))]
    assert [shape.label for shape in distinct(shapes)] == ["first", "third"]


def test_the_base_is_the_nearest_shape_to_zero_that_the_range_reaches() -> None:
    shape = shape_at_base(body(low=(0.25, -1, -1), high=(1, -0.5, 1)).range)
    assert shape.weights.tolist() == [0.25, -0.5, 0.0]
    assert shape.label == "belly=0.25 hips=-0.5"


def test_a_label_names_only_the_weights_that_are_not_zero() -> None:
    assert label_of(body().range, np.array([0.12345678, 0, 1])) == "belly=0.1235 height=1"
    assert label_of(body().range, np.zeros(3)) == "base"


def test_the_whole_set_has_each_weight_vector_once_and_starts_at_the_base() -> None:
    shapes = shapes_of(body(), settings=ShapeSettings(strongest=3, sobol=16))
    assert shapes[0].label == "base"
    assert len({tuple(shape.weights) for shape in shapes}) == len(shapes) == 1 + 3 + 3 + 16


def test_kinds_that_are_not_asked_for_are_left_out() -> None:
    assert [s.label for s in shapes_of(body(), settings=ShapeSettings(ends=False, strongest=0, sobol=0))] == ["base"]


def test_a_body_without_morphs_has_one_shape() -> None:
    empty = Range((), np.zeros(0), np.zeros(0))
    still = Body("still", TETRAHEDRON, TETRAHEDRON_FACES, (), np.zeros((0, 4, 3)), empty)
    assert [shape.label for shape in shapes_of(still)] == ["base"]
