import igl
import numpy as np
import pytest
import trimesh

from dressform.errors import ArgumentError
from dressform.mesh.topology import (
    adjacency,
    audit,
    boundary_edges,
    components,
    edges,
    face_components,
    weld,
)
from meshes import box, joined, sheet, sphere, torus, tube
from realdata import real


def euler(vertices, faces):
    return len(vertices) - len(edges(faces)) + len(faces)


@pytest.mark.parametrize(
    ("mesh", "characteristic"), [(sphere(2), 2), (torus(1.0, 0.3), 0), (tube((1.0, 1.0), 1.0), 0), (sheet(6), 1)]
)
def test_euler_characteristic_and_gauss_bonnet(mesh, characteristic):
    vertices, faces = mesh
    assert euler(vertices, faces) == characteristic
    defects = igl.gaussian_curvature(vertices, faces)
    border = np.unique(boundary_edges(faces))
    total = defects.sum() - np.pi * len(border)  # a border vertex turns by π less than its angle defect from 2π
    assert total == pytest.approx(2 * np.pi * characteristic, abs=1e-9)


def test_edges_are_those_of_igl():
    _, faces = torus(1.0, 0.3)
    assert np.array_equal(edges(faces), np.unique(np.sort(igl.edges(faces), axis=1), axis=0))


def test_boundary_edges_run_with_their_triangle_and_close():
    vertices, faces = tube((1.0, 1.0), 1.0, around=7, rows=2)
    border = boundary_edges(faces)
    assert len(border) == 14
    assert np.array_equal(np.bincount(border[:, 0], minlength=21), np.bincount(border[:, 1], minlength=21))
    low = border[vertices[border[:, 0], 1] == 0]
    assert np.array_equal(low[:, 1], (low[:, 0] + 1) % 7)  # as the tube was made


def test_components_are_numbered_by_their_first_vertex_and_face():
    vertices, faces = joined(sheet(3), sphere(0), sheet(3))
    shuffled = faces[::-1]
    assert np.array_equal(components(shuffled, len(vertices) + 1), np.repeat([0, 1, 2, 3], [9, 12, 9, 1]))
    assert np.array_equal(face_components(shuffled, len(vertices)), np.repeat([0, 1, 2], [8, 20, 8]))


def test_adjacency_of_the_icosahedron_has_five_neighbours_everywhere():
    vertices, faces = sphere(0)
    matrix = adjacency(faces, len(vertices))
    assert np.array_equal(matrix.sum(axis=1), np.full(12, 5))
    assert (matrix != matrix.T).nnz == 0


def test_weld_undoes_a_split_into_loose_triangles():
    vertices, faces = sphere(3)
    split = vertices[faces].reshape(-1, 3)
    whole = weld(split, tolerance=1e-9)
    assert len(whole.vertices) == len(vertices)
    assert np.array_equal(whole.vertices[whole.file_to_welded], split)
    assert euler(whole.vertices, whole.file_to_welded.reshape(-1, 3)) == 2


def test_weld_joins_across_any_grid_and_keeps_the_first_position():
    rng = np.random.default_rng(5)
    first = rng.uniform(-1, 1, (500, 3))
    noise = rng.normal(size=(500, 3))
    second = first + 0.9e-6 * noise / np.linalg.norm(noise, axis=1)[:, None]
    whole = weld(np.concatenate([first, second[::-1]]), tolerance=1e-6)
    assert np.array_equal(whole.vertices, first)
    assert np.array_equal(whole.file_to_welded, np.concatenate([np.arange(500), np.arange(500)[::-1]]))


def test_weld_keeps_apart_what_is_farther_than_the_tolerance():
    points = np.array([[0.0, 0, 0], [1.01e-6, 0, 0], [5e-6, 0, 0]])
    assert len(weld(points, tolerance=1e-6).vertices) == 3
    assert len(weld(points, tolerance=1.1e-6).vertices) == 2


def test_weld_without_tolerance_joins_equal_positions_of_either_sign_of_zero():
    points = np.array([[0.0, 1, 2], [-0.0, 1, 2], [0.0, 1, np.nextafter(2, 3)]])
    assert np.array_equal(weld(points, tolerance=0.0).file_to_welded, [0, 0, 1])


def test_a_negative_tolerance_is_refused():
    with pytest.raises(ArgumentError, match="weld: `tolerance` must be at least 0 m, got -1"):
        weld(np.zeros((1, 3)), tolerance=-1.0)


def test_audit_of_a_tidy_mesh_says_nothing():
    found = audit(*sphere(2))
    assert found.notes() == ()
    assert found.shells == 1
    assert found.volumes[0] == pytest.approx(trimesh.Trimesh(*sphere(2)).volume, rel=1e-12)


def test_audit_counts_shells_and_finds_the_one_inside_out():
    inner = sphere(1, radius=0.3)
    found = audit(*joined(sphere(2), (inner[0], inner[1][:, ::-1]), box()))
    assert found.shells == 3
    assert found.flipped_shells == (1,)
    assert found.notes() == (
        "The mesh has 3 separate pieces, of 320, 80, 12 triangles.",
        "1 of the pieces (80 triangles) is inside out, or the wall of a cavity.",
    )


@pytest.mark.parametrize("shift", [0.0, 50.0])
def test_audit_tells_an_open_shell_that_is_inside_out_wherever_it_stands(shift):
    vertices, faces = tube((1.0, 0.5), 2.0)
    assert audit(vertices + shift, faces).flipped_shells == ()
    assert audit(vertices + shift, faces[:, ::-1]).flipped_shells == (0,)
    assert audit(vertices + shift, faces).volumes[0] == pytest.approx(np.pi, rel=5e-3)


def test_audit_of_a_flat_sheet_calls_neither_side_flipped():
    vertices, faces = sheet(4)
    assert audit(vertices, faces).flipped_shells == audit(vertices, faces[:, ::-1]).flipped_shells == ()


def test_audit_counts_every_kind_of_disorder():
    vertices, faces = sheet(4)  # 12 border edges
    vertices = np.concatenate([vertices, [[0.5, 0.5, 1.0], [9.0, 9.0, 9.0]]])
    faces[0] = faces[0][::-1]  # turned over: one side on the border, two to neighbours
    faces = np.concatenate([faces, faces[4:5], [[5, 6, 16]], [[1, 1, 2]]])
    found = audit(vertices, faces)
    assert found.duplicate_faces == 1
    assert found.degenerate_faces == 1
    assert found.unused_vertices == 1
    assert found.turned_edges == 2
    assert found.branching_edges == 5  # three sides of the repeated triangle, one of each other addition
    notes = " ".join(found.notes())
    for sentence in (
        "It repeats 1 triangle.",
        "It has 1 triangle without area.",
        "It has 1 vertex that no triangle uses.",
        "Neighbouring triangles face opposite ways across 2 edges.",
        f"Three or more triangles meet at {found.branching_edges} edges.",
        f"It is open along {found.open_edges} edges.",
    ):
        assert sentence in notes


def test_audit_names_the_largest_of_many_shells():
    found = audit(*joined(*[sphere(level) for level in (1, 0, 0, 0, 0, 0, 2)]))
    assert found.notes()[0] == "The mesh has 7 separate pieces, of 320, 80, 20, 20, 20 triangles and 2 smaller ones."


@pytest.mark.data
def test_audit_of_real_meshes():
    body = trimesh.load(real("bodies/mean_all.obj"), process=False, maintain_order=True)
    assert audit(np.array(body.vertices), np.array(body.faces)).notes() == ()
    shirt = trimesh.load(real("garments/tshirt.obj"), process=False, maintain_order=True)
    found = audit(np.array(shirt.vertices), np.array(shirt.faces))
    assert found.shells == 1
    assert euler(shirt.vertices, np.array(shirt.faces)) == -2  # a sphere with four openings
