"""The factor of K − iV against a general sparse solver, and its growth."""

import numpy as np
import pytest
from scipy.sparse import csc_array, diags_array
from scipy.sparse.linalg import splu

from dressform.lift.shifted import factorise
from dressform.mesh.laplacian import cotangent
from lift_phantoms import joined, sphere, tube


@pytest.mark.parametrize("seed", range(4))
def test_solves_agree_with_a_general_sparse_solver(seed: int) -> None:
    rng = np.random.default_rng(seed)
    vertices, faces = joined(tube(0.1, 0.4, 0.015, jitter=0.4, seed=seed), sphere(0.03, rows=6, columns=9))
    vertices = np.concatenate([vertices, rng.normal(size=(3, 3))])  # three vertices without a triangle
    stiffness = cotangent(vertices, faces)
    pull = 10.0 ** rng.uniform(-4, 2, len(vertices))
    right = rng.normal(size=(len(vertices), 70)) + 1j * rng.normal(size=(len(vertices), 70))
    ours = factorise(stiffness, pull, vertices).solve(right)
    matrix = csc_array(stiffness - 1j * diags_array(pull))
    scale = np.abs(splu(matrix).solve(right)).max()
    assert np.abs(ours - splu(matrix).solve(right)).max() < 1e-11 * scale
    assert np.abs(matrix @ ours - right).max() < 1e-11 * scale * np.abs(matrix).max()


def test_the_imaginary_part_solves_the_squared_problem() -> None:
    rng = np.random.default_rng(1)
    vertices, faces = tube(0.1, 0.3, 0.02, jitter=0.3)
    stiffness = cotangent(vertices, faces)
    pull = rng.uniform(0.5, 2.0, len(vertices))
    targets, bends = rng.normal(size=(2, len(vertices), 4))
    ours = factorise(stiffness, pull, vertices).solve(pull[:, None] * targets + 1j * bends).imag
    squared = (stiffness @ diags_array(1 / pull) @ stiffness + diags_array(pull)).toarray()
    wanted = np.linalg.solve(squared, pull[:, None] * targets + stiffness @ (bends / pull[:, None]))
    assert np.abs(ours - wanted).max() < 1e-12


def test_the_factor_of_a_surface_grows_hardly_faster_than_its_vertices() -> None:
    entries = []
    for edge in (0.008, 0.004):
        vertices, faces = tube(0.1, 0.4, edge, jitter=0.3)
        stiffness = cotangent(vertices, faces)
        entries.append(len(factorise(stiffness, np.ones(len(vertices)), vertices).real) / len(vertices))
    # n log n: four times the vertices add a constant to the entries of each, where a plain order would double them.
    assert entries[1] < 1.35 * entries[0]


def test_few_columns_are_solved_as_in_a_company_of_many_to_the_last_bit() -> None:
    rng = np.random.default_rng(3)
    vertices, faces = tube(0.1, 0.3, 0.02, jitter=0.3)
    factor = factorise(cotangent(vertices, faces), rng.uniform(0.5, 2.0, len(vertices)), vertices)
    right = rng.normal(size=(len(vertices), 20)) + 1j * rng.normal(size=(len(vertices), 20))
    together = factor.solve(right)
    for count in (1, 3, 8):
        np.testing.assert_array_equal(factor.solve(right[:, :count]), together[:, :count])
