"""Convex curvature of surfaces whose curvature is known."""

import numpy as np
import pytest

from dressform.mesh.curvature import convex_curvature
from meshes import sheet, sphere, torus, tube


@pytest.mark.parametrize("radius", [0.05, 1.0])
def test_a_sphere_bends_by_one_over_its_radius(radius: float) -> None:
    vertices, faces = sphere(4, radius=radius)
    assert convex_curvature(vertices, faces) == pytest.approx(1 / radius, rel=0.01)


def test_the_error_on_a_sphere_falls_with_the_square_of_the_edge() -> None:
    errors = [np.abs(convex_curvature(*sphere(level)) - 1.0).max() for level in (2, 3, 4)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert orders == pytest.approx(2.0, abs=0.4)


def test_a_cylinder_bends_around_and_not_along() -> None:
    vertices, faces = tube((0.2, 0.2), 1.0, around=64, rows=20)
    inner = np.abs(vertices[:, 1] - 0.5) < 0.4
    assert convex_curvature(vertices, faces)[inner] == pytest.approx(1 / 0.2, rel=0.01)


def test_a_torus_bends_by_one_over_its_tube_everywhere() -> None:
    """The tube's own circle is the most convex direction, inside as well as outside."""
    vertices, faces = torus(0.5, 0.1, around=128, across=64)
    assert convex_curvature(vertices, faces) == pytest.approx(10.0, rel=0.02)


def test_what_is_flat_or_hollow_does_not_bend_outward() -> None:
    assert np.abs(convex_curvature(*sheet(9, seed=1))).max() < 1e-9
    vertices, faces = sphere(3)
    assert convex_curvature(vertices, faces[:, ::-1].copy()).max() == 0.0


def test_vertices_without_triangles_have_none() -> None:
    vertices, faces = sphere(1)
    with_loose = np.concatenate([vertices, [[3.0, 0.0, 0.0]]])
    assert convex_curvature(with_loose, faces)[-1] == 0.0
