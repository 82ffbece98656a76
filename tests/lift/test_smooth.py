"""The smoother: exact where it must be, monotone where it says so, solvable for any mesh."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dressform.lift.smooth import LONGEST, Smoother, make_smoother
from lift_phantoms import Mesh, joined, sphere, tube


def _smoother(mesh: Mesh, *, clearance: float = 0.02, skin_edge_length: float = 0.01) -> Smoother:
    count = len(mesh[0])
    return make_smoother(*mesh, np.full(count, clearance), np.full(count, skin_edge_length))


def _broken_mesh(seed: int) -> Mesh:
    """A tube, a button, needles, duplicates, a branch, coincident and unused vertices."""
    rng = np.random.default_rng(seed)
    vertices, faces = joined(tube(0.1, 0.2, 0.02, jitter=0.4, seed=seed), sphere(0.004, rows=3, columns=4))
    vertices = np.concatenate(
        [vertices, vertices[:5], rng.normal(size=(4, 3)), vertices[:1] + np.array([0.0, 0.0, 0.05])]
    )
    extra = [[0, 1, 1], [2, 2, 2], faces[0], faces[1][::-1], [0, 1, len(vertices) - 1]]
    return vertices, np.concatenate([faces, extra])


@pytest.mark.parametrize("seed", range(4))
def test_constants_survive_any_mesh(seed: int) -> None:
    mesh = _broken_mesh(seed)
    smoother = _smoother(mesh)
    field = np.full((len(mesh[0]), 1), -2.5)
    assert np.abs(smoother.solve(field) + 2.5).max() < 1e-9
    assert np.abs(smoother.spread(field) + 2.5).max() < 1e-9


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**31), st.floats(0.0, 0.4), st.floats(1e-4, 0.1))
def test_spreading_never_leaves_the_range_of_what_it_spreads(
    seed: int, clearance: float, skin_edge_length: float
) -> None:
    mesh = tube(0.1, 0.2, 0.03, jitter=0.4, seed=seed % 100)
    field = np.random.default_rng(seed).integers(0, 2, (len(mesh[0]), 3)).astype(float)
    spread = _smoother(mesh, clearance=clearance, skin_edge_length=skin_edge_length).spread(field)
    assert spread.min() > -1e-12
    assert spread.max() < 1 + 1e-12


def test_a_ripple_far_shorter_than_the_length_dies_and_a_wave_far_longer_passes() -> None:
    radius, clearance = 0.15, 0.04
    mesh = tube(radius, 1.2, 0.01)
    smoother = _smoother(mesh, clearance=clearance, skin_edge_length=0.0)
    heights = mesh[0][:, 1]
    inner = np.abs(heights) < 0.3
    step = np.diff(np.unique(np.round(heights, 9)))[0]
    for wavelength, max_left in ((0.04, 0.02), (0.4, 1.0)):
        wave = np.sin(2 * np.pi * heights / wavelength)[:, None]
        left = (smoother.solve(wave)[inner] * wave[inner]).sum() / (wave[inner] ** 2).sum()
        # The response of a fair curve, 1 / (1 + (ℓk)⁴), with ℓ half the clearance and k² as differences see it.
        squared = (2 - 2 * np.cos(2 * np.pi * step / wavelength)) / step**2
        assert left == pytest.approx(1 / (1 + ((0.5 * clearance) ** 2 * squared) ** 2), rel=1e-3)
        assert left < max_left


def test_no_field_is_smoothed_over_more_than_the_longest_length() -> None:
    smoother = _smoother(tube(0.1, 0.2, 0.03), clearance=5.0)
    assert smoother.lengths.max() == LONGEST


def test_a_seam_between_two_pieces_stays_closed() -> None:
    upper, lower = tube(0.1, 0.2, 0.02), tube(0.1, 0.2, 0.02)
    mesh = joined((upper[0] + [0.0, 0.1, 0.0], upper[1]), (lower[0] - [0.0, 0.1, 0.0], lower[1]))
    near = np.abs(mesh[0][:, 1]) < 1e-9
    field = np.random.default_rng(0).normal(size=(len(mesh[0]), 3))
    solved = _smoother(mesh).solve(field)[near].reshape(2, -1, 3)
    assert near.sum() > 20
    assert np.array_equal(solved[0], solved[1])
