"""One sparse factor, many right-hand sides."""

import numpy as np
from jaxtyping import Float
from scipy.sparse import csc_array, csr_array, sparray
from scipy.sparse.linalg import splu

from dressform.errors import MeshError
from dressform.mesh.factor_kernels import solve_in_place

TOGETHER = 96  # right-hand sides solved at once: the rows in use of so many stay in the nearer caches


class Factor:
    """Factor of a symmetric positive definite matrix, kept for repeated solves.

    SciPy's SuperLU orders and factorises; its solve takes one column after the other, so with the hundreds of columns
    of a body's morphs the factor is read hundreds of times. Here it is read once for all columns, which
    `benchmarks/bench_factor.py` measures.

    Attributes:
        size: Rows of the matrix.
        entries: Non-zeros of the lower factor.

    Raises:
        MeshError: the matrix has no inverse.
    """

    size: int
    entries: int

    def __init__(self, matrix: sparray) -> None:
        try:
            factor = splu(
                csc_array(matrix), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
            )
        except RuntimeError as problem:  # SuperLU's word for a pivot that is exactly 0
            raise MeshError(
                "Factor: `matrix` must have an inverse, got one that has none. "
                "The mesh is too small for its lengths to be told from 0, or part of it is no surface: mend it."
            ) from problem
        lower, upper = csr_array(factor.L), csr_array(factor.U)
        lower.sort_indices()
        upper.sort_indices()
        self.size, self.entries = factor.shape[0], lower.nnz
        self._arrays = (lower.indptr, lower.indices, lower.data, upper.indptr, upper.indices, upper.data)
        self._rows, self._columns = factor.perm_r, factor.perm_c

    def solve(self, right: Float[np.ndarray, "V C"]) -> Float[np.ndarray, "V C"]:
        """The solution for every column of `right`, (V, C)."""
        solution = np.zeros(right.shape)
        solution[self._rows] = right
        solve_in_place(*self._arrays, solution, TOGETHER)
        return solution[self._columns]
