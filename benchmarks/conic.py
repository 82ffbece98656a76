"""The programme of a repair put to a general interior-point solver, for comparison on small cases."""

from dataclasses import dataclass

import clarabel
import numpy as np
from scipy.sparse import block_diag, coo_array, csc_array, csr_array, triu

from dressform.repair.clear.programme import Constraints


@dataclass(frozen=True)
class Conic:
    """The programme as a quadratic one: unknowns are all moves and one t ≤ min(low y, high y) per row and morph."""

    quadratic: csc_array
    left: csc_array
    right: np.ndarray

    @classmethod
    def of(
        cls, energy: csr_array, rows: Constraints, low: np.ndarray, high: np.ndarray, *, base_price: float
    ) -> "Conic":
        """Translate; moves are ordered by term, axis, vertex."""
        size, count, morphs = energy.shape[0], len(rows.vertex), len(low)
        reach = np.maximum(np.abs(low), np.abs(high))
        worth = np.concatenate([[base_price], reach**2])
        moves = 3 * size * (morphs + 1)
        blocks = [worth[term] * energy for term in range(morphs + 1) for _ in range(3)]
        quadratic = block_diag([*blocks, csr_array((count * morphs, count * morphs))])
        number = np.arange(count)
        entries: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
        right = [rows.terms[:, 0] - rows.needed]
        for axis in range(3):
            entries.append((number, axis * size + rows.vertex, -rows.direction[:, axis]))
        for morph in range(morphs):
            slack = moves + number * morphs + morph
            entries.append((number, slack, -np.ones(count)))
            for end in (low[morph], high[morph]):
                row = len(right) * count + number
                right.append(end * rows.terms[:, morph + 1])
                entries.append((row, slack, np.ones(count)))
                for axis in range(3):
                    column = ((morph + 1) * 3 + axis) * size + rows.vertex
                    entries.append((row, column, -end * rows.direction[:, axis]))
        row, column, value = (np.concatenate(part) for part in zip(*entries))
        left = coo_array((value, (row, column)), shape=(len(right) * count, moves + count * morphs))
        return cls(csc_array(triu(quadratic)), csc_array(left), np.concatenate(right))

    def solve(self) -> float:
        """The least energy."""
        settings = clarabel.DefaultSettings()
        settings.verbose = False
        cones = [clarabel.NonnegativeConeT(len(self.right))]
        size = self.quadratic.shape[0]
        solver = clarabel.DefaultSolver(self.quadratic, np.zeros(size), self.left, self.right, cones, settings)
        return float(solver.solve().obj_val)
