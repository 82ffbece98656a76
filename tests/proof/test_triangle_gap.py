"""The gap of two triangles is the distance of their closest points, and its vector separates them."""

import numpy as np
import pytest

from dressform.mesh.exact import faces_cross
from dressform.proof.triangle_kernels import triangle_gap

CORNERS = np.array([[0, 1, 2]])
FLOOR = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])


def _gap(a: np.ndarray, b: np.ndarray) -> tuple[float, np.ndarray]:
    vector = np.zeros(3)
    return triangle_gap(np.ascontiguousarray(a), np.ascontiguousarray(b), vector, np.zeros(3)), vector


def test_parallel_triangles_are_their_height_apart() -> None:
    length, vector = _gap(FLOOR + np.array([0.1, 0.3, 0.1]), FLOOR)
    assert length == pytest.approx(0.3)
    assert np.allclose(vector, [0, 0.3, 0])


def test_a_corner_over_the_inside_is_its_height_away() -> None:
    spike = np.array([[0.2, 0.05, 0.2], [0.2, 2.0, 0.3], [0.4, 2.0, 0.1]])
    assert _gap(spike, FLOOR)[0] == pytest.approx(0.05)
    assert np.allclose(_gap(FLOOR, spike)[1], [0, -0.05, 0])


@pytest.mark.parametrize("seed", range(30))
def test_the_vector_between_the_closest_points_separates_the_triangles(seed: int) -> None:
    rng = np.random.default_rng(seed)
    a = rng.normal(size=(3, 3))
    b = rng.normal(size=(3, 3)) + rng.choice([0.0, 3.0]) * rng.normal(size=3)
    length, vector = _gap(a, b)
    along = vector / length
    separation = (a @ along).min() - (b @ along).max()
    if faces_cross(a, CORNERS, b, CORNERS, np.zeros((1, 2), dtype=np.int64))[0]:
        assert separation < 0
        return
    mix = rng.dirichlet(np.ones(3), size=(2, 4000))
    sampled = np.linalg.norm((mix[0] @ a)[:, None] - (mix[1] @ b)[None, :200], axis=2).min()
    assert length <= sampled + 1e-12
    assert separation == pytest.approx(length, abs=1e-9)


def test_the_gap_does_not_depend_on_the_order_of_corners() -> None:
    rng = np.random.default_rng(1)
    a, b = rng.normal(size=(3, 3)), rng.normal(size=(3, 3)) + 4.0
    lengths = [_gap(a[list(p)], b)[0] for p in ([0, 1, 2], [1, 2, 0], [2, 1, 0])]
    assert np.ptp(lengths) < 1e-12
