"""Solving for many columns with one kept factor: ours reads it once for all, SciPy's once for each.

Size: a bent sheet of 6,400 vertices, the bi-Laplacian of a repair. Prints medians and their ratio; both give the same
solution to rounding.
"""

import statistics
import time

import numpy as np
from scipy.sparse import csc_array, diags_array
from scipy.sparse.linalg import splu

from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian import cotangent

SIDE, BEND, RUNS = 80, 5.0, 5
COLUMNS = (3, 39, 183)  # three axes of the base alone, with 12 morphs, with 60


def main() -> None:
    """Print one Markdown table."""
    along = np.arange(SIDE, dtype=float)
    grid = np.stack(np.meshgrid(along, along, indexing="ij"), axis=-1).reshape(-1, 2)
    vertices = np.stack([grid[:, 0], 4 * np.sin(grid[:, 0] / 9), grid[:, 1]], axis=1)
    corner = (np.arange(SIDE - 1)[:, None] * SIDE + np.arange(SIDE - 1)).ravel()
    faces = np.concatenate(
        [np.stack([corner, corner + 1, corner + SIDE + 1], 1), np.stack([corner, corner + SIDE + 1, corner + SIDE], 1)]
    )
    mass, stiffness = vertex_areas(vertices, faces), cotangent(vertices, faces)
    matrix = diags_array(mass) + BEND**4 * stiffness @ diags_array(1 / mass) @ stiffness
    ours = Factor(matrix)
    theirs = splu(csc_array(matrix), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    print("| columns | ours, ms | SciPy, ms | ratio |\n|---|---|---|---|")
    for columns in COLUMNS:
        right = np.random.default_rng(0).normal(size=(len(vertices), columns))
        times: tuple[list[float], list[float]] = ([], [])
        for _ in range(RUNS + 1):
            for solve, kept in zip((ours.solve, theirs.solve), times):
                start = time.process_time()
                solve(right)
                kept.append((time.process_time() - start) * 1e3)
        mine, scipys = (statistics.median(kept[1:]) for kept in times)
        print(f"| {columns} | {mine:.1f} | {scipys:.1f} | {mine / scipys:.2f} |")


if __name__ == "__main__":
    main()
