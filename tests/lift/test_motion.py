"""Turn and stretch of a displaced surface against closed forms."""

import numpy as np
import pytest

from dressform.lift.motion import local_motion
from lift_phantoms import sphere, tube


@pytest.mark.parametrize("seed", range(6))
def test_a_linearised_similarity_is_read_back_exactly(seed: int) -> None:
    rng = np.random.default_rng(seed)
    vertices, faces = tube(0.1, 0.3, 0.02, jitter=0.4, seed=seed)
    turn, stretch, shift = rng.normal(size=3), rng.normal(), rng.normal(size=3)
    turns, stretches = local_motion(vertices, faces, np.cross(turn, vertices) + stretch * vertices + shift)
    assert np.abs(turns - turn).max() < 1e-12
    assert np.abs(stretches - stretch).max() < 1e-12


def test_a_sheet_bent_upward_turns_about_the_line_of_the_bend() -> None:
    x, z = (axis.ravel() for axis in np.meshgrid(np.linspace(0, 1, 21), np.linspace(0, 1, 21), indexing="ij"))
    vertices = np.stack([x, np.zeros_like(x), z], axis=1)
    index = np.arange(441).reshape(21, 21)
    a, b, c, d = index[:-1, :-1].ravel(), index[:-1, 1:].ravel(), index[1:, :-1].ravel(), index[1:, 1:].ravel()
    faces = np.concatenate([np.stack([a, b, c], axis=1), np.stack([c, b, d], axis=1)])
    lifted = np.zeros_like(vertices)
    lifted[:, 1] = 0.5 * x**2
    turns, stretches = local_motion(vertices, faces, lifted)
    inner = (x > 0.04) & (x < 0.96) & (z > 0.04) & (z < 0.96)
    # A normal +Y tilts towards −X by the slope x: a turn of +x about +Z.
    assert np.abs(turns[inner] - np.stack([0 * x, 0 * x, x], axis=1)[inner]).max() < 1e-12
    assert np.abs(stretches).max() < 1e-12


def test_growing_a_sphere_along_its_normals_stretches_without_turning() -> None:
    vertices, faces = sphere(0.2, rows=40, columns=60)
    turns, stretches = local_motion(vertices, faces, 0.03 * vertices / 0.2)
    assert np.abs(stretches - 0.03 / 0.2).max() < 1e-12
    assert np.abs(turns).max() < 1e-12


def test_a_degenerate_triangle_adds_nothing() -> None:
    vertices, faces = tube(0.1, 0.3, 0.03)
    with_needle = np.concatenate([faces, [[0, 0, 1]]])
    field = np.cross([0.0, 1.0, 0.0], vertices)
    for one, two in zip(local_motion(vertices, faces, field), local_motion(vertices, with_needle, field)):
        assert np.array_equal(one, two)
