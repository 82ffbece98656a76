import numpy as np

from dressform.faults.skin.overlap import no_room, overlapping
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.inside import winding_numbers
from dressform.mesh.tree import Tree
from fault_meshes import icosphere


def two_spheres(distance):
    left, faces = icosphere(0.1, level=3)
    right = left + np.array([distance, 0.0, 0.0])
    return Tree(np.concatenate([left, right]), np.concatenate([faces, faces + len(left)]))


def found(tree):
    normals = vertex_normals(tree.vertices, tree.faces)
    return overlapping(tree, np.arange(len(tree.vertices)), normals), normals


def test_overlap_is_where_the_winding_number_is_two():
    tree = two_spheres(0.13)
    inside, normals = found(tree)
    exact = winding_numbers(tree.vertices, tree.faces, tree.vertices - 1e-5 * normals, exact=True)
    assert inside.sum() > 50
    assert (inside == (exact > 1.5)).all()


def test_spheres_apart_do_not_overlap():
    assert not found(two_spheres(0.21))[0].any()


def test_only_those_asked_are_told():
    tree = two_spheres(0.13)
    inside, normals = found(tree)
    half = np.arange(len(tree.vertices) // 2)
    assert (overlapping(tree, half, normals)[half] == inside[half]).all()
    assert not overlapping(tree, half, normals)[len(half) :].any()


def test_there_is_no_room_where_the_gap_is_smaller_than_the_clearance():
    tree = two_spheres(0.21)  # 1 cm between the spheres on the line of their middles
    feet, directions = np.array([[0.1, 0.0, 0.0]] * 3), np.array([[1.0, 0.0, 0.0]] * 3)
    assert no_room(tree, feet, directions, np.array([0.005, 0.0095, 0.011])).tolist() == [False, False, True]


def test_there_is_no_room_inside_another_part():
    tree = two_spheres(0.13)
    assert no_room(tree, np.array([[0.1, 0.0, 0.0]]), np.array([[1.0, 0.0, 0.0]]), np.array([0.001])).all()
