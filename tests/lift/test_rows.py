"""The plain ways: what they read from the body."""

import numpy as np
import pytest

from dressform.lift.feet import find_feet
from dressform.lift.rows import foot_rows, nearest_rows, nearest_three_rows
from dressform.mesh.tree import Tree
from lift_phantoms import sphere, tube


def test_nearest_reads_the_vertex_that_brute_force_finds() -> None:
    body, cloth = tube(0.1, 0.3, 0.02, jitter=0.4)[0], tube(0.13, 0.2, 0.03, twist=0.2)[0]
    distances = np.linalg.norm(cloth[:, None] - body[None], axis=2)
    assert np.array_equal(nearest_rows(body, cloth) @ body, body[distances.argmin(axis=1)])


def test_three_nearest_weigh_by_inverse_distance() -> None:
    body = np.array([[0.0, 0, 0], [3.0, 0, 0], [0, 6.0, 0], [50.0, 0, 0]])
    rows = nearest_three_rows(body, np.array([[1.0, 0, 0]])).toarray()
    inverse = 1 / np.array([1.0, 2.0, np.sqrt(37.0)])
    assert rows[0] == pytest.approx([*(inverse / inverse.sum()), 0.0])


def test_a_cloth_vertex_on_a_body_vertex_follows_that_one_alone() -> None:
    body, _ = sphere(0.1)
    rows = nearest_three_rows(body, body[:50])
    assert np.abs(rows @ body - body[:50]).max() < 1e-12


def test_a_body_of_two_points_is_enough() -> None:
    rows = nearest_three_rows(np.array([[0.0, 0, 0], [1.0, 0, 0]]), np.array([[0.25, 0, 0]]))
    assert rows.toarray()[0] == pytest.approx([0.75, 0.25])


def test_foot_rows_reproduce_the_feet() -> None:
    tree = Tree(*tube(0.1, 0.3, 0.02, jitter=0.4))
    feet = find_feet(tree, *tube(0.13, 0.2, 0.03))
    assert np.abs(foot_rows(feet, tree) @ tree.vertices - feet.points).max() < 1e-12
