"""The direction with the widest gap over a piece of the range, against the convex hull of all corner differences."""

from itertools import product

import numpy as np
import pytest
from scipy.optimize import nnls

from dressform.proof.bound_kernels import pair_bounds
from dressform.proof.direction_kernels import widest_gap
from dressform.proof.split_kernels import split_bounds

FACE = np.array([0, 1, 2])
MORPHS = 3


def moving_triangles(seed: int, *, apart: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Terms of two triangles, (3, M, 3) each, and a range."""
    rng = np.random.default_rng(seed)
    above, below = rng.normal(size=(2, 3, MORPHS + 1, 3)) * np.array([1.0, *[0.3] * MORPHS])[:, None]
    above[:, 0] += apart * np.array([0.4, 1.0, -0.2])
    return above, below, -rng.uniform(0, 1, MORPHS), rng.uniform(0, 1, MORPHS)


def distance_of_hull(above: np.ndarray, below: np.ndarray, low: np.ndarray, high: np.ndarray) -> float:
    """Distance of the origin from the hull of all differences at all ends of the range, by least squares."""
    corners = np.array([[1.0, *weights] for weights in product(*zip(low, high))])
    at = [np.einsum("sm,vmx->svx", corners, terms) for terms in (above, below)]
    points = (at[0][:, :, None] - at[1][:, None]).reshape(-1, 3)
    heavy = 1e4  # shares sum to 1
    shares, _ = nnls(np.vstack([points.T, np.full(len(points), heavy)]), np.array([0.0, 0.0, 0.0, heavy]))
    return float(np.linalg.norm(points.T @ shares / shares.sum()))


def widest(
    above: np.ndarray, below: np.ndarray, low: np.ndarray, high: np.ndarray, enough: float
) -> tuple[float, np.ndarray]:
    n, start = np.zeros(3), np.array([0.0, 1.0, 0.0])
    room = np.zeros((3, MORPHS + 1)), np.zeros((3, MORPHS + 1))
    found = widest_gap(above, below, FACE, FACE, low, high, enough, *room, n, start, np.zeros((5, 3)), np.zeros(4))
    return found, n


@pytest.mark.parametrize("seed", range(30))
def test_no_direction_keeps_a_wider_gap(seed: int) -> None:
    above, below, low, high = moving_triangles(seed, apart=8.0)
    wanted = distance_of_hull(above, below, low, high)
    found, n = widest(above, below, low, high, wanted - 1e-6)
    assert found == pytest.approx(wanted, abs=2e-6)
    assert np.linalg.norm(n) == pytest.approx(1.0)
    arrays = above, FACE[None], below, FACE[None], np.zeros((1, 2), int), low, high
    assert found >= pair_bounds(*arrays, 0 * low, np.full(1, np.inf))[0][0] - 2e-6


@pytest.mark.parametrize("seed", range(10))
def test_the_gap_holds_at_every_shape(seed: int) -> None:
    above, below, low, high = moving_triangles(seed, apart=3.0)
    found, n = widest(above, below, low, high, 0.5)
    for weights in np.random.default_rng(seed).uniform(low, high, (200, MORPHS)):
        there, here = (np.einsum("m,vmx->vx", [1.0, *weights], terms) @ n for terms in (above, below))
        assert there.min() - here.max() >= found - 1e-12


def test_a_pair_whose_widest_gap_is_enough_is_proven_undivided() -> None:
    """Of such pairs the way between the closest points and the normals prove only some."""
    undivided, of_seven = 0, 0
    for seed in range(40):
        above, below, low, high = moving_triangles(seed, apart=6.0)
        needed = np.full(1, 0.99 * distance_of_hull(above, below, low, high))
        arrays = above, FACE[None], below, FACE[None], np.zeros((1, 2), int), low, high
        proven, pieces = split_bounds(*arrays, needed, 50)
        assert proven[0]
        undivided += pieces[0] == 1
        of_seven += pair_bounds(*arrays, 0 * low, needed)[0][0] >= needed[0]
    assert undivided == 40
    assert of_seven < 35
