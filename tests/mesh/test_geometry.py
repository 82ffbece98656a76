import igl
import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.mesh.geometry import (
    edge_lengths,
    face_areas,
    face_normals,
    vertex_areas,
    vertex_edge_length,
    vertex_normals,
)
from dressform.mesh.topology import edges
from meshes import box, sheet, soup, sphere, torus


def test_area_of_the_sphere_converges_at_second_order():
    errors = [4 * np.pi - face_areas(*sphere(level)).sum() for level in (2, 3, 4)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert np.allclose(orders, 2, atol=0.05)


def test_area_of_the_torus_is_four_pi_squared_times_both_radii():
    assert face_areas(*torus(2.0, 0.5, around=400, across=200)).sum() == pytest.approx(4 * np.pi**2, rel=1e-3)


def test_vertex_areas_sum_to_the_area_and_are_thirds():
    vertices, faces = sheet(5)
    areas = vertex_areas(vertices, faces)
    assert areas.sum() == pytest.approx(1.0)
    assert areas[6] == pytest.approx(1 / 16)  # an inner vertex owns one cell of the grid


def test_normals_of_the_sphere_are_its_radii():
    vertices, faces = sphere(4)
    centres = vertices[faces].mean(axis=1)
    assert np.abs(face_normals(vertices, faces) - centres / np.linalg.norm(centres, axis=1)[:, None]).max() < 5e-3
    assert np.abs(vertex_normals(vertices, faces) - vertices).max() < 2e-3


def test_vertex_normals_of_a_cube_ignore_its_diagonals():
    vertices, faces = box()
    assert np.allclose(vertex_normals(vertices, faces), (2 * vertices - 1) / np.sqrt(3), atol=1e-15)


def test_normals_agree_with_igl():
    vertices, faces = torus(1.0, 0.4, around=30, across=20)
    angle = igl.PER_VERTEX_NORMALS_WEIGHTING_TYPE_ANGLE
    assert np.allclose(vertex_normals(vertices, faces), igl.per_vertex_normals(vertices, faces, angle), atol=1e-12)
    assert np.allclose(face_areas(vertices, faces), igl.doublearea(vertices, faces) / 2, rtol=1e-12)


def test_degenerate_triangles_have_no_normal_and_spoil_no_vertex_normal():
    vertices, faces = sheet(3)
    faces = np.concatenate([faces, [[0, 0, 1], [0, 4, 8]]])  # a repeated corner; three corners in line
    assert np.array_equal(face_normals(vertices, faces)[-2:], np.zeros((2, 3)))
    assert np.allclose(vertex_normals(vertices, faces), (0, 0, 1), atol=1e-15)


def test_normals_keep_their_length_at_any_scale():
    vertices, faces = soup(60, seed=3)
    proper = face_normals(vertices, faces).any(axis=1)
    assert 0 < proper.sum() < len(faces)
    for scale in (1e-9, 1.0, 1e9):
        lengths = np.linalg.norm(face_normals(vertices * scale, faces), axis=1)
        assert np.allclose(lengths, proper, atol=1e-12)


def test_a_vertex_without_triangles_has_no_area_normal_or_edge():
    vertices, faces = sheet(3)
    vertices = np.concatenate([vertices, [[9.0, 9.0, 9.0]]])
    assert not vertex_normals(vertices, faces)[-1].any()
    assert vertex_areas(vertices, faces)[-1] == 0
    assert vertex_edge_length(vertices, faces)[-1] == 0


def test_edge_lengths_of_a_grid():
    vertices, faces = sheet(3)
    lengths = edge_lengths(vertices, edges(faces))
    assert np.allclose(np.unique(lengths.round(12)), [0.5, 0.5 * np.sqrt(2)])


def test_vertex_edge_length_is_the_mean_of_the_sides_that_end_there():
    vertices, faces = np.array([[0.0, 0, 0], [3, 0, 0], [0, 4, 0]]), np.array([[0, 1, 2]])
    assert np.allclose(vertex_edge_length(vertices, faces), [3.5, 4.0, 4.5])


def test_an_index_outside_the_vertices_is_refused():
    vertices, faces = sheet(3)
    faces[5, 1] = 9
    with pytest.raises(ArgumentError, match=r"face_normals: `faces` must be indices of 9 vertices \(0..8\).*at face 5"):
        face_normals(vertices, faces)


def test_a_negative_index_is_refused():
    vertices, faces = sheet(3)
    faces[2, 0] = -1
    with pytest.raises(ArgumentError, match="at face 2"):
        vertex_normals(vertices, faces)


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_coordinate_that_is_not_finite_is_refused(bad):
    vertices, faces = sheet(3)
    vertices[4, 1] = bad
    with pytest.raises(ArgumentError, match=r"face_areas: `vertices` must be finite.*at row 4"):
        face_areas(vertices, faces)
