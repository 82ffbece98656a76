"""A body is linear in its weights, and parts that do not belong together are refused."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import ArgumentError, MatchError

NAMES = tuple("abcdefghijkl")


def some_body() -> Body:
    rng = np.random.default_rng(4)
    deltas = rng.normal(size=(len(NAMES), 5, 3))
    return Body("some", rng.normal(size=(5, 3)), np.array([[0, 1, 2], [2, 3, 4]]), NAMES, deltas, Range.unit(NAMES))


@pytest.mark.parametrize("active", range(len(NAMES) + 1))
def test_a_shape_is_the_base_plus_the_weighted_sum_of_its_morphs(active: int) -> None:
    body = some_body()
    weights = np.zeros(len(NAMES))
    weights[:active] = np.random.default_rng(active).uniform(-1, 2, active)
    one_by_one = body.vertices.copy()
    for weight, delta in zip(weights, body.deltas):
        one_by_one += weight * delta
    assert np.allclose(body.at(weights), one_by_one, rtol=0, atol=1e-13)


def test_deltas_of_any_layout_are_kept_morph_by_morph_with_the_input_untouched() -> None:
    body = some_body()
    by_vertex = np.ascontiguousarray(body.deltas.transpose(1, 0, 2)).transpose(1, 0, 2)
    kept = replace(body, deltas=by_vertex)
    assert kept.deltas.flags.c_contiguous
    assert not by_vertex.flags.c_contiguous
    assert np.array_equal(kept.deltas, body.deltas)


def test_a_shape_shares_no_memory_with_the_base() -> None:
    body = some_body()
    body.at(np.zeros(len(NAMES)))[:] = 9.0
    assert np.abs(body.vertices).max() < 9.0


def test_named_weights_stand_in_the_order_of_the_morphs() -> None:
    assert some_body().weights({"c": 0.25, "a": -1}).tolist() == [-1, 0, 0.25] + [0] * 9


def test_an_unknown_morph_is_refused_and_the_known_are_listed() -> None:
    with pytest.raises(ArgumentError, match=r"`named` must be names of morphs: a, b, .*, l, got 'belly'"):
        some_body().weights({"belly": 1.0})


def test_stature_is_the_vertical_extent_of_the_base() -> None:
    body = replace(some_body(), vertices=np.array([[0, 0.25, 9], [0, 2, 0], [0, 1, 0], [5, 1, 0], [0, 1, -7.0]]))
    assert body.stature == 1.75


def test_deltas_of_another_count_are_refused() -> None:
    body = some_body()
    with pytest.raises(MatchError, match=r"`deltas` of 'some' must be \(12, 5, 3\)"):
        replace(body, deltas=body.deltas[:3])


def test_a_range_in_another_order_is_refused() -> None:
    with pytest.raises(MatchError, match="`range` of 'some' must name the morphs"):
        replace(some_body(), range=Range.unit(NAMES[::-1]))
