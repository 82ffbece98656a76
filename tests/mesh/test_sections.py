import numpy as np
import pytest
import trimesh
from scipy.special import ellipe

from dressform.errors import ArgumentError
from dressform.mesh.sections import girth, hull_perimeter, loops, plane_axes, section
from meshes import box, joined, sheet, sphere, torus, tube
from realdata import real

UP = np.array([0.0, 1, 0])
RNG = np.random.default_rng(51)


@pytest.mark.parametrize(
    ("axes", "perimeter"), [((3.0, 2.0), 15.8654396), ((16.0, 11.0), 85.5517944), ((18.0, 12.0), 95.1926375)]
)
def test_girth_of_an_elliptic_cylinder_is_the_perimeter_of_the_ellipse(axes, perimeter):
    assert 4 * axes[0] * ellipe(1 - (axes[1] / axes[0]) ** 2) == pytest.approx(perimeter, abs=5e-8)
    errors = [
        perimeter - girth(*tube(axes, 10.0, around=around), np.array([0, 3.3, 0]), UP) for around in (100, 200, 400)
    ]
    assert np.allclose(np.log2(np.array(errors[:-1]) / errors[1:]), 2, atol=0.05)
    assert girth(*tube(axes, 10.0, around=5000), np.array([0, 3.3, 0]), UP) == pytest.approx(perimeter, abs=2e-5)


def test_girth_of_an_offset_ring_is_two_pi_times_the_offset_more():
    for clearance in (0.003, 0.01, 0.05):
        inner = girth(*tube((0.15, 0.15), 1.0, around=2000), 0.5 * UP, UP)
        outer = girth(*tube((0.15 + clearance, 0.15 + clearance), 1.0, around=2000), 0.5 * UP, UP)
        assert outer - inner == pytest.approx(2 * np.pi * clearance, rel=1e-5)


def test_a_tape_around_two_legs_bridges_the_gap():
    leg, radius, apart = tube((1.0, 1.0), 4.0, around=4000), 1.0, 5.0
    legs = joined(leg, (leg[0] + (apart, 0, 0), leg[1]))
    assert girth(*legs, UP, UP) == pytest.approx(2 * np.pi * radius + 2 * apart, rel=1e-5)
    mask = np.arange(len(legs[1])) < len(leg[1])
    assert girth(*legs, UP, UP, face_mask=mask) == pytest.approx(2 * np.pi, rel=1e-5)


def test_a_tilted_section_of_a_cylinder_is_an_ellipse():
    normal = np.array([0.0, 1.0, 1.0])
    long = np.sqrt(2.0)
    expected = 4 * long * ellipe(1 - 1 / long**2)
    assert girth(*tube((1.0, 1.0), 6.0, around=3000, rows=40), 3 * UP, normal) == pytest.approx(expected, rel=1e-5)


def test_every_section_point_lies_on_the_plane_and_on_the_surface():
    vertices, faces = sphere(4)
    normal, point = np.array([0.3, -0.5, 0.8]), np.array([0.1, 0.2, -0.1])
    ends = section(vertices, faces, point, normal).reshape(-1, 3)
    assert np.abs((ends - point) @ normal).max() < 1e-15
    assert np.abs(np.linalg.norm(ends, axis=1) - 1).max() < 3e-3


def test_a_sphere_is_cut_in_one_closed_loop():
    vertices, faces = sphere(5)
    height = 0.37
    (ring,) = loops(vertices, faces, height * UP, UP)
    assert ring.closed
    assert ring.length == pytest.approx(2 * np.pi * np.sqrt(1 - height**2), rel=1e-3)
    assert len(ring.points) == len(section(vertices, faces, height * UP, UP))


def test_loops_run_counter_clockwise_seen_from_above():
    (ring,) = loops(*sphere(3), 0.2 * UP, UP)
    x, z = ring.points[:, 0], ring.points[:, 2]
    assert np.sum(z * np.roll(x, -1) - x * np.roll(z, -1)) / 2 == pytest.approx(np.pi * 0.96, rel=0.02)


def test_a_torus_is_cut_in_two_loops_longest_first():
    outer, inner = loops(*torus(2.0, 0.5, around=400, across=200), np.zeros(3), np.array([0.0, 0, 1]))
    assert outer.closed
    assert inner.closed
    assert outer.length == pytest.approx(2 * np.pi * 2.5, rel=1e-3)
    assert inner.length == pytest.approx(2 * np.pi * 1.5, rel=1e-3)


def test_an_open_sheet_is_cut_in_an_open_curve():
    vertices, faces = sheet(9, seed=2)
    (line,) = loops(vertices, faces, np.array([0.37, 0, 0]), np.array([1.0, 0, 0]))
    assert not line.closed
    assert line.length == pytest.approx(1.0, abs=1e-12)


def test_turned_over_triangles_do_not_break_a_loop():
    vertices, faces = sphere(3)
    turned = RNG.random(len(faces)) < 0.3
    faces[turned] = faces[turned][:, ::-1]
    (ring,) = loops(vertices, faces, 0.2 * UP, UP)
    assert ring.closed
    assert ring.length == pytest.approx(loops(*sphere(3), 0.2 * UP, UP)[0].length, rel=1e-12)


def test_a_branching_mesh_gives_curves_that_hold_every_segment_once():
    vertices, faces = sheet(5)
    vertices = np.concatenate([vertices, [[0.5, 0.5, 1.0]]])
    faces = np.concatenate([faces, [[11, 13, 25], [12, 7, 25], [12, 17, 25]]])
    curves = loops(vertices, faces, np.array([0.43, 0, 0]), np.array([1.0, 0, 0]))
    total = np.linalg.norm(
        np.diff(section(vertices, faces, np.array([0.43, 0, 0]), np.array([1.0, 0, 0])), axis=1), axis=2
    )
    assert sum(curve.length for curve in curves) == pytest.approx(total.sum())


@pytest.mark.parametrize("height", [0.0, 0.5, 1.0])
def test_a_plane_through_vertices_or_faces_cuts_once(height):
    vertices, faces = box()
    curves = loops(vertices, faces, height * UP, UP)
    if height == 1.0:  # the lid lies in the plane and counts as above it
        assert [curve.length for curve in curves] == [pytest.approx(4.0)]
    elif height == 0.0:
        assert curves == ()
    else:
        assert [curve.length for curve in curves] == [pytest.approx(4.0)]


def test_a_plane_through_vertices_of_the_icosahedron_closes():
    vertices, faces = sphere(0)
    for way in vertices:
        curves = loops(vertices, faces, vertices[3], np.cross(way, UP + 0.1))
        assert all(curve.closed for curve in curves)


def test_a_plane_that_misses_measures_nothing():
    assert girth(*sphere(2), 2 * UP, UP) == 0.0
    assert loops(*sphere(2), 2 * UP, UP) == ()
    assert section(*sphere(2), 2 * UP, UP).shape == (0, 2, 3)


def test_a_straight_section_is_measured_there_and_back():
    assert girth(*sheet(5), np.array([0.3, 0, 0]), np.array([1.0, 0, 0])) == pytest.approx(2.0)


def test_the_girth_of_a_hollow_section_bridges_the_hollow():
    square = np.array([[0.0, 0, 0], [2, 0, 0], [2, 0, 2], [1, 0, 0.5], [0, 0, 2]])
    segments = np.stack([square, np.roll(square, -1, axis=0)], axis=1)
    assert hull_perimeter(segments, UP) == pytest.approx(8.0)


@pytest.mark.parametrize("normal", [(0.0, 1, 0), (1.0, 0, 0), (0.0, 0, -2), (0.3, -4, 0.1)])
def test_plane_axes_make_a_right_handed_frame(normal):
    u, v = plane_axes(np.array(normal))
    assert np.allclose(np.cross(u, v), np.array(normal) / np.linalg.norm(normal), atol=1e-15)


def test_sections_agree_with_trimesh():
    mesh = trimesh.Trimesh(*torus(1.0, 0.4, around=40, across=20), process=False)
    point, normal = np.array([0.1, 0.05, 0.03]), np.array([0.2, 0.9, 0.4])
    theirs = trimesh.intersections.mesh_plane(mesh, normal, point)
    ours = section(np.array(mesh.vertices), np.array(mesh.faces), point, normal)
    assert np.linalg.norm(np.diff(ours, axis=1), axis=2).sum() == pytest.approx(
        np.linalg.norm(np.diff(theirs, axis=1), axis=2).sum(), rel=1e-9
    )
    assert len(ours) == len(theirs)


@pytest.mark.data
def test_sections_of_a_real_body_close_at_every_height():
    body = trimesh.load(real("bodies/mean_all.obj"), process=False, maintain_order=True)
    vertices, faces = np.array(body.vertices), np.array(body.faces)
    for height in np.linspace(vertices[:, 1].min(), vertices[:, 1].max(), 40)[1:-1]:
        curves = loops(vertices, faces, height * UP, UP)
        assert curves
        assert all(curve.closed for curve in curves)


def test_a_normal_of_no_length_is_refused():
    with pytest.raises(ArgumentError, match="section: `normal` must be of some finite length"):
        section(*sphere(1), np.zeros(3), np.zeros(3))


def test_a_mask_of_another_length_is_refused():
    with pytest.raises(ArgumentError, match="section: `face_mask` must be one value for each of 80 faces, got 79"):
        section(*sphere(1), np.zeros(3), UP, face_mask=np.ones(79, dtype=bool))
