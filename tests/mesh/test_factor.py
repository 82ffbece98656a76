"""A factor solves what it was made from, for any number of columns."""

import numpy as np
import pytest
from scipy.sparse import csr_array, diags_array
from scipy.sparse.linalg import spsolve

from dressform.mesh.factor import Factor


def _grid_matrix(side: int, seed: int) -> csr_array:
    """Laplacian of a square grid with random positive weights plus a little mass."""
    rng = np.random.default_rng(seed)
    index = np.arange(side * side).reshape(side, side)
    ends = np.concatenate(
        [np.stack([index[:-1].ravel(), index[1:].ravel()]), np.stack([index[:, :-1].ravel(), index[:, 1:].ravel()])],
        axis=1,
    )
    weight = rng.uniform(0.1, 3.0, ends.shape[1])
    joined = csr_array((weight, (ends[0], ends[1])), shape=(side * side, side * side))
    joined = joined + joined.T
    return csr_array(diags_array(joined.sum(axis=1) + 0.1) - joined)


@pytest.mark.parametrize("columns", [1, 3, 40, 200])
def test_the_solution_solves_the_system(columns: int) -> None:
    matrix = _grid_matrix(17, seed=columns)
    matrix = csr_array(matrix @ matrix)
    right = np.random.default_rng(columns).normal(size=(matrix.shape[0], columns))
    kept = right.copy()
    solution = Factor(matrix).solve(right)
    assert np.allclose(matrix @ solution, right, atol=1e-9)
    assert np.array_equal(right, kept)


def test_the_solution_equals_scipys() -> None:
    matrix = _grid_matrix(9, seed=5)
    right = np.random.default_rng(0).normal(size=(81, 2))
    assert np.allclose(Factor(matrix).solve(right), spsolve(matrix.tocsc(), right), rtol=1e-10)


def test_a_column_is_solved_to_the_same_bits_however_many_stand_beside_it() -> None:
    matrix = _grid_matrix(12, seed=2)
    right = np.random.default_rng(2).normal(size=(144, 101))
    factor = Factor(csr_array(matrix @ matrix))
    whole = factor.solve(right)
    for column in (0, 60, 95, 96, 100):
        assert np.array_equal(factor.solve(right[:, column : column + 1]), whole[:, column : column + 1])
