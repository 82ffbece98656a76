"""Bounds of a pair of triangles: never more than the gap, and none where the triangles touch."""

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.proof.certificate import base_gaps, bounds_of
from dressform.proof.linear_mesh import LinearMesh, linear_mesh
from dressform.proof.split_kernels import split_bounds

BOX = Range.unit(("still",))
PAIR = np.array([[0, 0]])


def triangle(*corners: tuple[float, float, float]) -> LinearMesh:
    """One triangle that no weight moves."""
    return linear_mesh(np.array(corners), np.zeros((1, 3, 3)), np.array([[0, 1, 2]]))


def bound(cloth: LinearMesh, body: LinearMesh) -> float:
    return float(bounds_of(cloth, body, PAIR, BOX)[0][0])


FLOOR = triangle((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))
TOUCHING = {
    "at a corner": triangle((0.0, 0.0, 0.0), (-1.0, 0.5, 0.0), (0.0, 0.5, -1.0)),
    "along an edge": triangle((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 0.5, 0.0)),
    "crossing": triangle((0.2, -0.5, 0.2), (0.3, 0.5, 0.2), (0.2, 0.5, 0.3)),
    "the same": FLOOR,
}


@pytest.mark.parametrize("place", TOUCHING)
def test_triangles_that_touch_have_no_positive_bound(place: str) -> None:
    found = bound(TOUCHING[place], FLOOR)
    assert np.isfinite(found)
    assert found < 1e-15


@pytest.mark.parametrize("seed", range(20))
def test_the_bound_of_triangles_that_do_not_move_is_their_gap(seed: int) -> None:
    rng = np.random.default_rng(seed)
    corners = rng.normal(size=(2, 3, 3)) + np.array([0.0, 6.0, 0.0]) * np.arange(2)[:, None, None]
    lower, upper = (triangle(*map(tuple, each)) for each in corners)
    assert bound(upper, lower) == pytest.approx(base_gaps(upper, lower, PAIR)[0], rel=1e-9)


@pytest.mark.parametrize("rising", [0.2, -0.2])
def test_a_pair_that_touches_at_one_end_of_the_range_is_given_up_at_once(rising: float) -> None:
    """The body rises to still cloth just at one end of its interval: the first look finds that end and gives up."""
    corners = FLOOR.terms[:, 0]
    cloth = linear_mesh(corners + np.array([0.0, 0.2, 0.0]), np.zeros((1, 3, 3)), FLOOR.faces)
    body = linear_mesh(corners, np.tile([0.0, rising, 0.0], (1, 3, 1)), FLOOR.faces)
    low, high = np.array([-1.0 if rising < 0 else 0.0]), np.array([1.0 if rising > 0 else 0.0])
    proven, pieces = split_bounds(
        cloth.terms, cloth.faces, body.terms, body.faces, PAIR, low, high, np.array([0.001]), 100
    )
    assert proven.tolist() == [False]
    assert pieces.tolist() == [1]
