import igl
import numpy as np
import pytest
import trimesh

from dressform.errors import ArgumentError
from dressform.mesh.inside import Winding, winding_numbers
from meshes import joined, sheet, sphere, torus
from realdata import real

RNG = np.random.default_rng(31)


@pytest.mark.parametrize("exact", [False, True])
def test_the_inside_of_the_torus_is_where_its_equation_says(exact):
    queries = RNG.uniform(-1.5, 1.5, (3000, 3)) * (1, 1, 0.4)
    depth = 0.4 - np.hypot(np.hypot(queries[:, 0], queries[:, 1]) - 1.0, queries[:, 2])
    clear = np.abs(depth) > 0.01
    winding = Winding(*torus(1.0, 0.4), exact=exact)
    assert np.array_equal(winding.inside(queries)[clear], depth[clear] > 0)


def test_exact_numbers_are_whole_and_count_overlapping_shells():
    vertices, faces = joined(sphere(3), (sphere(3)[0] + (1.0, 0, 0), sphere(3)[1]), sphere(3, radius=4.0))
    queries = np.array([[0.5, 0, 0], [-0.5, 0, 0], [0, 3, 0], [0, 5, 0]])
    assert np.allclose(winding_numbers(vertices, faces, queries, exact=True), [3, 2, 1, 0], atol=1e-12)
    assert np.allclose(winding_numbers(vertices, faces, queries), [3, 2, 1, 0], atol=0.02)


def test_turned_faces_count_negative():
    vertices, faces = sphere(2)
    assert winding_numbers(vertices, faces[:, ::-1], np.zeros((1, 3)), exact=True)[0] == pytest.approx(-1)


def test_an_open_mesh_winds_by_the_share_of_directions_that_it_covers():
    vertices, faces = sphere(5)
    half = faces[vertices[faces].mean(axis=1)[:, 1] < 0]  # from its centre half of all directions are covered
    assert winding_numbers(vertices, half, np.zeros((1, 3)), exact=True)[0] == pytest.approx(0.5, abs=0.01)
    side = sheet(9)  # one side of a cube seen from its centre covers a sixth
    assert winding_numbers(*side, np.array([[0.5, 0.5, -0.5]]), exact=True)[0] == pytest.approx(1 / 6, abs=1e-12)


def test_a_small_hole_changes_no_verdict_away_from_it():
    vertices, faces = sphere(4)
    open_faces = faces[vertices[faces].mean(axis=1)[:, 1] < 0.97]
    assert len(open_faces) < len(faces)
    queries = RNG.uniform(-1.3, 1.3, (3000, 3))
    radius = np.linalg.norm(queries, axis=1)
    clear = (np.abs(radius - 1) > 0.02) & (queries[:, 1] < 0.8)
    assert np.array_equal(Winding(vertices, open_faces).inside(queries)[clear], radius[clear] < 1)


def test_fast_agrees_with_exact():
    vertices, faces = torus(1.0, 0.4)
    queries = RNG.uniform(-1.5, 1.5, (5000, 3))
    difference = winding_numbers(vertices, faces, queries) - winding_numbers(vertices, faces, queries, exact=True)
    assert np.abs(difference).max() < 0.02


def test_exact_numbers_are_the_sum_of_solid_angles():
    vertices, faces = torus(1.0, 0.4, around=12, across=7)
    queries = RNG.uniform(-1.5, 1.5, (200, 3))
    a, b, c = (vertices[faces[:, corner]] - queries[:, None] for corner in range(3))
    x, y, z = (np.linalg.norm(corner, axis=2) for corner in (a, b, c))
    dots = [np.einsum("qfi,qfi->qf", *pair) for pair in ((a, b), (b, c), (c, a))]
    volume = np.einsum("qfi,qfi->qf", a, np.cross(b, c))
    angles = 2 * np.arctan2(volume, x * y * z + dots[0] * z + dots[1] * x + dots[2] * y)  # van Oosterom and Strackee
    expected = angles.sum(axis=1) / (4 * np.pi)
    assert np.allclose(winding_numbers(vertices, faces, queries, exact=True), expected, atol=1e-12)


def test_a_kept_winding_answers_as_a_new_one():
    vertices, faces = sphere(3)
    winding = Winding(vertices, faces)
    for _ in range(3):
        queries = RNG.uniform(-1.5, 1.5, (100, 3))
        assert np.array_equal(winding.numbers(queries), igl.fast_winding_number(vertices, faces, queries))


def test_no_queries_and_no_faces_are_taken():
    assert len(winding_numbers(*sphere(1), np.zeros((0, 3)))) == 0
    assert not winding_numbers(np.zeros((1, 3)), np.zeros((0, 3), dtype=np.int64), np.ones((2, 3))).any()


@pytest.mark.data
def test_fast_and_exact_give_one_verdict_on_a_real_body():
    body = trimesh.load(real("bodies/mean_all.obj"), process=False, maintain_order=True)
    vertices, faces = np.array(body.vertices), np.array(body.faces)
    queries = vertices[::20] + RNG.normal(size=(len(vertices[::20]), 3)) * 0.01
    exact = Winding(vertices, faces, exact=True).inside(queries)
    assert 0.3 < exact.mean() < 0.7
    assert np.array_equal(Winding(vertices, faces).inside(queries), exact)


def test_a_query_that_is_not_finite_is_refused():
    with pytest.raises(ArgumentError, match=r"Winding.numbers: `queries` must be finite"):
        winding_numbers(*sphere(1), np.full((1, 3), np.nan))
