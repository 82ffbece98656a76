"""Winding numbers along rays are those of the solid angles, where parts overlap and where they are turned over too."""

import numpy as np

from dressform.mesh.crossing_number import crossing_numbers, is_closed
from dressform.mesh.inside import winding_numbers
from dressform.mesh.tree import Tree
from meshes import sphere


def test_crossing_numbers_are_the_winding_numbers_of_overlapping_and_turned_spheres() -> None:
    vertices, faces = sphere(2)
    whole = np.concatenate([vertices, vertices + np.array([1.0, 0.0, 0.0]), 0.4 * vertices])
    shells = np.concatenate([faces, faces + len(vertices), faces[:, ::-1] + 2 * len(vertices)])
    tree, points = Tree(whole, shells), np.random.default_rng(5).uniform(-1.2, 2.2, (400, 3))
    exact = np.round(winding_numbers(whole, shells, points, exact=True))
    assert set(exact) == {0.0, 1.0, 2.0}
    assert np.array_equal(crossing_numbers(tree, points), exact)


def test_mesh_with_a_hole_is_not_closed() -> None:
    vertices, faces = sphere(1)
    assert is_closed(Tree(vertices, faces))
    assert not is_closed(Tree(vertices, faces[1:]))
