"""Meshes with known geometry, for tests: sphere, torus, tube, sheet, box."""

import numpy as np

GOLDEN = (1 + 5**0.5) / 2


def sphere(level: int, *, radius: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """An icosahedron split `level` times, every vertex on the sphere; 20 · 4^level triangles, outward."""
    corners = [(0, a, b * GOLDEN) for a in (1, -1) for b in (1, -1)]
    vertices = np.array([np.roll(corner, turn) for turn in range(3) for corner in corners], dtype=float)
    near = np.linalg.norm(vertices[:, None] - vertices, axis=2) < 2.1
    faces = np.array(
        [(i, j, k) for i in range(12) for j in range(i) for k in range(j) if near[i, j] and near[j, k] and near[i, k]]
    )
    a, b, c = (vertices[faces[:, corner]] for corner in range(3))
    inward = np.einsum("fi,fi->f", a, np.cross(b, c)) < 0
    faces[inward] = faces[inward][:, ::-1]
    for _ in range(level):
        ends = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
        pairs, middle = np.unique(ends, axis=0, return_inverse=True)
        ab, bc, ca = (middle.reshape(-1, 3) + len(vertices)).T
        a, b, c = faces.T
        vertices = np.concatenate([vertices, vertices[pairs].mean(axis=1)])
        parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        faces = np.concatenate([np.stack(part, axis=1) for part in parts])
    return radius * vertices / np.linalg.norm(vertices, axis=1, keepdims=True), faces.astype(np.int64)


def torus(ring: float, tube: float, *, around: int = 96, across: int = 48) -> tuple[np.ndarray, np.ndarray]:
    """A torus around +Z, outward triangles."""
    u, v = np.meshgrid(np.arange(around) * 2 * np.pi / around, np.arange(across) * 2 * np.pi / across, indexing="ij")
    out = ring + tube * np.cos(v)
    vertices = np.stack([out * np.cos(u), out * np.sin(u), tube * np.sin(v)], axis=2).reshape(-1, 3)
    i, j = np.meshgrid(np.arange(around), np.arange(across), indexing="ij")
    a, b = i * across + j, (i + 1) % around * across + j
    c, d = (i + 1) % around * across + (j + 1) % across, i * across + (j + 1) % across
    return vertices, np.concatenate([np.stack([a, b, c], 2).reshape(-1, 3), np.stack([a, c, d], 2).reshape(-1, 3)])


def tube(axes: tuple[float, float], height: float, *, around: int = 64, rows: int = 4) -> tuple[np.ndarray, np.ndarray]:
    """An open elliptic cylinder around +Y from 0 to `height`, semi-axes along x and z, outward triangles."""
    turn = np.arange(around) * 2 * np.pi / around
    ring = np.stack([axes[0] * np.sin(turn), 0 * turn, axes[1] * np.cos(turn)], axis=1)
    vertices = np.concatenate([ring + np.array([0, height * row / rows, 0]) for row in range(rows + 1)])
    i, j = np.meshgrid(np.arange(rows), np.arange(around), indexing="ij")
    a, b = i * around + j, i * around + (j + 1) % around
    parts = [np.stack([a, b, b + around], 2), np.stack([a, b + around, a + around], 2)]
    return vertices, np.concatenate([part.reshape(-1, 3) for part in parts])


def sheet(size: int, *, seed: int | None = None) -> tuple[np.ndarray, np.ndarray]:
    """A unit square in the plane z = 0 facing +Z, `size` vertices a side; with a seed its inner vertices are moved."""
    x, y = np.meshgrid(np.linspace(0, 1, size), np.linspace(0, 1, size), indexing="ij")
    if seed is not None:
        jitter = np.random.default_rng(seed).uniform(-0.2, 0.2, (2, size - 2, size - 2)) / (size - 1)
        x[1:-1, 1:-1] += jitter[0]
        y[1:-1, 1:-1] += jitter[1]
    index = np.arange(size * size).reshape(size, size)
    a, b, c, d = index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]
    faces = np.concatenate([np.stack([a, b, c], 2).reshape(-1, 3), np.stack([a, c, d], 2).reshape(-1, 3)])
    return np.stack([x, y, 0 * x], axis=2).reshape(-1, 3), faces


def box() -> tuple[np.ndarray, np.ndarray]:
    """The cube [0, 1]³, twelve outward triangles."""
    vertices = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return vertices, np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))], dtype=np.int64)


def soup(count: int, *, seed: int, size: float = 0.3) -> tuple[np.ndarray, np.ndarray]:
    """Loose triangles of random place, size and shape; some needles, some of no area."""
    rng = np.random.default_rng(seed)
    centres = rng.uniform(-1, 1, (count, 1, 3))
    corners = centres + rng.normal(size=(count, 3, 3)) * size * rng.uniform(0.05, 1, (count, 1, 1))
    corners[::17, 2] = corners[::17, 1]
    corners[::23, 2] = 0.5 * (corners[::23, 0] + corners[::23, 1]) + 1e-9
    return corners.reshape(-1, 3), np.arange(3 * count, dtype=np.int64).reshape(-1, 3)


def joined(*meshes: tuple[np.ndarray, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Several meshes as one."""
    offsets = np.cumsum([0] + [len(vertices) for vertices, _ in meshes[:-1]])
    return (
        np.concatenate([vertices for vertices, _ in meshes]),
        np.concatenate([faces + offset for (_, faces), offset in zip(meshes, offsets)]),
    )
