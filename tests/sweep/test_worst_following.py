"""Slopes of cloth that follows: where body and cloth move by one affine map, the change of clearance is closed-form."""

import numpy as np
import pytest

from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_normals
from dressform.sweep.worst import covered_points
from lift_phantoms import body_of, sphere

RADIUS, CLEARANCE = 0.2, 0.01


def shared_map(matrix: np.ndarray, shift: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Slopes found under one affine map of body and cloth, clearances, and normals of the skin."""
    skin = sphere(RADIUS, rows=40, columns=60)
    shell, faces = sphere(RADIUS + CLEARANCE, rows=17, columns=23, twist=0.05)
    body = body_of(skin, stretch=skin[0] @ matrix.T + shift)
    fit = Fit(body, Garment.of("shell", shell, faces), DEFAULT_FOLLOWING, shell, (shell @ matrix.T + shift)[None])
    pairs = covered_points(fit)
    assert len(pairs.areas) == len(body.vertices)
    return pairs.slopes[0], pairs.base, vertex_normals(*skin)


@pytest.mark.parametrize("seed", range(4))
def test_cloth_and_skin_moved_by_one_affine_map_change_clearance_by_its_stretch_along_the_normal(seed: int) -> None:
    """The pair lies c apart along the normal n; the map A carries that offset to c A n, whatever triangle holds it."""
    rng = np.random.default_rng(seed)
    matrix = 0.1 * rng.normal(size=(3, 3))
    slopes, clearance, normals = shared_map(matrix, rng.normal(size=3))
    expected = clearance * np.einsum("ni,ij,nj->n", normals, matrix, normals)
    assert np.abs(slopes - expected).max() < 1e-12
    assert np.abs(expected).max() > 1e-4


def test_a_turn_of_cloth_and_skin_together_changes_no_clearance() -> None:
    spin = np.array([[0.0, -0.3, 0.2], [0.3, 0.0, -0.5], [-0.2, 0.5, 0.0]])
    slopes, _, _ = shared_map(spin, np.zeros(3))
    assert np.abs(slopes).max() < 1e-12
