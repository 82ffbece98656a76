"""Curvature and footprint agree with spheres and tubes."""

import numpy as np
import pytest

from dressform.lift.feet import find_feet
from dressform.lift.rows import foot_rows
from dressform.mesh.tree import Tree
from dressform.repair.whole.footprint import curvature_tensors, footprints, growth_factors
from meshes import sphere, tube


def _factors(body: tuple[np.ndarray, np.ndarray], points: np.ndarray) -> np.ndarray:
    tree = Tree(*body)
    feet = find_feet(tree, points, np.zeros((0, 3), dtype=np.int64))
    tensors = foot_rows(feet, tree) @ curvature_tensors(*body).reshape(-1, 9)
    return growth_factors(feet, tensors.reshape(-1, 3, 3))


def test_curvatures_of_sphere_and_tube_are_known() -> None:
    radius = 0.08
    ball = curvature_tensors(*sphere(4, radius=radius))
    assert np.allclose(np.linalg.eigvalsh(ball), [0.0, 1 / radius, 1 / radius], atol=0.02 / radius)
    vertices, faces = tube((radius, radius), 0.5, around=64, rows=40)
    pipe = curvature_tensors(vertices, faces)[np.abs(vertices[:, 1] - 0.25) < 0.1]
    assert np.allclose(np.linalg.eigvalsh(pipe), [0.0, 0.0, 1 / radius], atol=0.02 / radius)


@pytest.mark.parametrize("clearance", [0.01, 0.02, 0.2])
def test_the_footprint_beyond_a_ball_is_the_ratio_of_the_spheres(clearance: float) -> None:
    radius = 0.05
    body = sphere(4, radius=radius)
    points = sphere(1, radius=radius + clearance)[0]
    expected = (radius / (radius + clearance)) ** 2
    assert footprints(_factors(body, points)) == pytest.approx(expected, rel=0.05)


def test_a_fingertip_under_a_loose_glove_has_a_footprint_of_a_twelfth() -> None:
    """Radius 8 mm, clearance 20 mm: 0.082; evening out takes a tenth of the curvature."""
    points = sphere(1, radius=0.028)[0]
    assert footprints(_factors(sphere(4, radius=0.008), points)) == pytest.approx(0.082, rel=0.2)
    even = curvature_tensors(*sphere(4, radius=0.008), even_length=1e-5)
    assert np.linalg.eigvalsh(even)[:, 1:] == pytest.approx(125.0, rel=0.02)


def test_round_a_limb_the_skin_grows_in_one_direction() -> None:
    factors = _factors(tube((0.05, 0.05), 0.6, around=64, rows=40), np.array([[0.0, 0.3, 0.15], [0.2, 0.31, 0.0]]))
    assert factors[:, 0] == pytest.approx(1.0, abs=0.03)
    assert factors[:, 1] == pytest.approx([3.0, 4.0], rel=0.03)


def test_cloth_inside_the_body_stands_on_its_own_area() -> None:
    assert footprints(_factors(sphere(3, radius=0.05), np.array([[0.0, 0.03, 0.0]])))[0] == 1.0
