"""Does the pucker index depend on the mesh? One smooth field on one skirt, cut coarser and finer.

Prints one Markdown row a mesh: the index in ten-thousandths (p95, p99) of two fields of even waves round the skirt, and
the share of the cloth whose windows hold enough vertices to tell. Run: python benchmarks/bench_pucker.py
"""

import numpy as np

from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows

WAIST, HEM, LENGTH = 0.13, 0.34, 0.62  # radii and length of the skirt, metres
EDGES = (0.060, 0.0395, 0.030, 0.0240, 0.0166, 0.0120, 0.0085)  # metres
HEIGHT = 0.02  # metres
WAVES = {"8 waves, 2 up": (8, 2), "14 waves, 3 up": (14, 3)}


def skirt(edge: float) -> tuple[np.ndarray, np.ndarray]:
    """A cone of rows with equal counts, (V, 3) metres, and its triangles."""
    around = round(2.0 * np.pi * 0.5 * (WAIST + HEM) / edge)
    rows = round(LENGTH / edge) + 1
    share, turn = np.linspace(0.0, 1.0, rows), 2.0 * np.pi * np.arange(around) / around
    radius = (WAIST + (HEM - WAIST) * share)[:, None]
    x, z = radius * np.sin(turn), radius * np.cos(turn)
    vertices = np.stack([x, np.broadcast_to(-LENGTH * share[:, None], x.shape), z], axis=-1).reshape(-1, 3)
    row, column = (each.ravel() for each in np.meshgrid(np.arange(rows - 1), np.arange(around), indexing="ij"))
    a, b = row * around + column, row * around + (column + 1) % around
    return vertices, np.concatenate([np.stack([a, a + around, b], 1), np.stack([b, a + around, b + around], 1)])


def waved(vertices: np.ndarray, around: int, up: int) -> np.ndarray:
    """The skirt with a smooth wave outward."""
    turn = np.arctan2(vertices[:, 0], vertices[:, 2])
    swell = HEIGHT * np.cos(around * turn) * np.sin(np.pi * up * vertices[:, 1] / LENGTH)
    outward = vertices * np.array([1.0, 0.0, 1.0])
    return vertices + swell[:, None] * outward / np.linalg.norm(outward, axis=1, keepdims=True)


def main() -> None:
    print(f"| triangles | told, % of area | {' | '.join(f'{name}, p95 / p99' for name in WAVES)} |")
    print("|---" * (2 + len(WAVES)) + "|")
    for edge in EDGES:
        vertices, faces = skirt(edge)
        windows = pucker_windows(vertices, faces)
        cells, told = [], 1.0
        for around, up in WAVES.values():
            found = measure_pucker(windows, pucker_index(windows, waved(vertices, around, up)))
            told = getattr(found, "told_share", 1.0)
            cells.append("too coarse" if np.isnan(found.p95) else f"{found.p95 * 1e4:.0f} / {found.p99 * 1e4:.0f}")
        print(f"| {len(faces):,} | {100 * told:.0f} | {' | '.join(cells)} |")


if __name__ == "__main__":
    main()
