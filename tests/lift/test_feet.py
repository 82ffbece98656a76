"""Feet on a body of closed form."""

import numpy as np
import pytest

from dressform.lift.feet import find_feet
from dressform.mesh.tree import Tree
from lift_phantoms import sphere, tube


def test_clearance_and_normals_of_an_offset_sphere() -> None:
    tree = Tree(*sphere(0.2, rows=90, columns=140))
    points, faces = sphere(0.23, twist=0.01)
    feet = find_feet(tree, points, faces)
    assert np.abs(feet.clearance - 0.03).max() < 1.5e-4  # the facets lie that far inside the sphere
    assert np.abs(feet.normals - points / 0.23).max() < 0.02
    assert np.abs(np.linalg.norm(feet.points - points, axis=1) - feet.clearance).max() < 1e-12


def test_cloth_inside_the_body_has_negative_clearance() -> None:
    feet = find_feet(Tree(*sphere(0.2, rows=60, columns=90)), *sphere(0.19))
    assert feet.clearance.max() < -0.009


def test_a_foot_on_a_border_without_area_has_the_normal_of_its_triangle() -> None:
    vertices = np.array([[0.0, 0, 0], [1, 0, 0], [0, 0, 1], [1, 0, 1]])
    faces = np.array([[0, 2, 1], [0, 1, 2]])  # two triangles back to back: vertex normals cancel
    feet = find_feet(Tree(vertices, faces), np.array([[0.2, 0.5, 0.2]]), np.zeros((0, 3), dtype=np.int64))
    assert abs(feet.normals[0, 1]) == pytest.approx(1.0)


def test_feet_interpolate_the_body_at_their_barycentric_coordinates() -> None:
    body = tube(0.1, 0.3, 0.02, jitter=0.4)
    feet = find_feet(Tree(*body), *tube(0.13, 0.2, 0.02))
    corners = body[0][body[1][feet.faces]]
    assert np.abs(np.einsum("gc,gcx->gx", feet.barycentric, corners) - feet.points).max() < 1e-12
