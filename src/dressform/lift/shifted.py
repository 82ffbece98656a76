"""Factor of K − iV for a symmetric, positive semidefinite K and a positive diagonal V, and solves with it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Complex, Float
from scipy.sparse import csr_array

from dressform.lift.dissection import Dissection, dissect
from dressform.lift.shifted_kernels import eliminate, substitute, substitute_few

CHUNK = 64  # right-hand sides solved at once: a block's rows of so many stay in the nearest cache
FEW = 8  # so many are solved one after the other within each block


@dataclass(frozen=True)
class ShiftedFactor:
    """L D Lᵀ = K − iV in dense panels along the tree of a dissection.

    A panel holds the columns of one block: its own rows, with D⁻¹ on the diagonal, then its border's rows.

    Attributes:
        cuts: The order of elimination.
        real: Real parts of all panels, one after the other.
        imaginary: Their imaginary parts.
    """

    cuts: Dissection
    real: Float[np.ndarray, " P"]
    imaginary: Float[np.ndarray, " P"]

    def solve(self, right: Complex[np.ndarray, "N C"]) -> Complex[np.ndarray, "N C"]:
        """The z with (K − iV) z = `right`, (N, C)."""
        solved = np.zeros(right.shape, dtype=np.complex128)
        if right.shape[1] <= FEW:
            part = right[self.cuts.order].T
            real, imaginary = np.ascontiguousarray(part.real), np.ascontiguousarray(part.imag)
            substitute_few(*self.cuts.tables, self.real, self.imaginary, real, imaginary)
            solved[self.cuts.order] = (real + 1j * imaginary).T
            return solved
        for first in range(0, right.shape[1], CHUNK):
            part = right[self.cuts.order, first : first + CHUNK]
            real, imaginary = np.ascontiguousarray(part.real), np.ascontiguousarray(part.imag)
            substitute(*self.cuts.tables, self.real, self.imaginary, real, imaginary)
            solved[self.cuts.order, first : first + CHUNK] = real + 1j * imaginary
        return solved


def factorise(stiffness: csr_array, pull: Float[np.ndarray, " N"], points: Float[np.ndarray, "N 3"]) -> ShiftedFactor:
    """Factor K − iV by multifrontal elimination without pivoting.

    The real part of the matrix is positive semidefinite and its imaginary part negative definite; so are those of
    all that is left after every step, hence no pivot is zero, whatever the mesh, and nothing grows more than threefold.
    Own loops instead of a library's dense products: blocks are small, and threads that wait for each other cost more
    here than they give.

    Args:
        stiffness: K, (N, N).
        pull: Diagonal of V, positive, (N,).
        points: Where the vertices lie, metres; only the order of elimination depends on it.

    Source: multifrontal elimination [DuffReid1983]; no pivoting needed, growth below 3 [Higham1998].
    Proof: tests/lift/test_shifted.py::test_solves_agree_with_a_general_sparse_solver
    """
    cuts = dissect(stiffness, points)
    sizes, widths = np.diff(cuts.starts), np.diff(cuts.border_starts)
    entries = int((sizes * (sizes + widths)).sum())
    real, imaginary = np.zeros(entries), np.zeros(entries)
    pointers, neighbours = stiffness.indptr.astype(np.int64), stiffness.indices.astype(np.int64)
    eliminate(pointers, neighbours, stiffness.data, pull, cuts.order, cuts.parents, *cuts.tables, real, imaginary)
    return ShiftedFactor(cuts, real, imaginary)
