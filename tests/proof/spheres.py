"""A ball as body and a shell as cloth, both moved by morphs: small cases whose truth is known."""

import numpy as np

from dressform.body.range import Range
from dressform.proof.linear_mesh import LinearMesh, linear_mesh

GOLDEN = (1 + 5**0.5) / 2


def ball(subdivisions: int) -> tuple[np.ndarray, np.ndarray]:
    """Unit sphere from a divided icosahedron: vertices (V, 3), faces (F, 3)."""
    corners = [(0, s, t * GOLDEN) for s in (-1, 1) for t in (-1, 1)]
    vertices = np.array([np.roll(c, r) for r in range(3) for c in corners], dtype=float)
    vertices /= np.linalg.norm(vertices, axis=1, keepdims=True)
    near = np.linalg.norm(vertices[:, None] - vertices[None], axis=2) < 1.1
    faces = np.array(
        [(i, j, k) for i in range(12) for j in range(i) for k in range(j) if near[i, j] and near[j, k] and near[i, k]]
    )
    for _ in range(subdivisions):
        sides = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
        unique, which = np.unique(sides, axis=0, return_inverse=True)
        middle = len(vertices) + which.reshape(3, -1).T
        vertices = np.concatenate([vertices, vertices[unique].mean(axis=1)])
        vertices /= np.linalg.norm(vertices, axis=1, keepdims=True)
        ab, bc, ca = middle.T
        a, b, c = faces.T
        faces = np.concatenate([np.stack(t, axis=1) for t in ((a, ab, ca), (b, bc, ab), (c, ca, bc), (ab, bc, ca))])
    outward = np.einsum(
        "fx,fx->f", np.cross(*(vertices[faces[:, i]] - vertices[faces[:, 0]] for i in (1, 2))), vertices[faces[:, 0]]
    )
    faces[outward < 0] = faces[outward < 0][:, ::-1]
    return vertices, faces.astype(np.int64)


def seeded_case(seed: int, *, clearance: float, morphs: int = 3) -> tuple[LinearMesh, LinearMesh, Range]:
    """Shell and ball of radius 10 cm with random smooth morphs that both follow, the shell less truly: a hard case."""
    rng = np.random.default_rng(seed)
    body, body_faces = ball(1)
    cloth, cloth_faces = ball(1)
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    body, cloth = 0.1 * body, (0.1 + clearance) * cloth @ turn.T
    low = rng.uniform(-1, 0, morphs)
    box = Range(tuple(f"m{k}" for k in range(morphs)), low, low + rng.uniform(0.2, 1.5, morphs))
    frequency, phase = rng.normal(size=(morphs, 3, 3)) * 12, rng.uniform(0, 7, (morphs, 3))

    def field(points: np.ndarray, noise: float) -> np.ndarray:
        waves = np.sin(np.einsum("kij,vj->kvi", frequency, points) + phase[:, None])
        return 0.02 * waves + noise * rng.normal(size=waves.shape)

    return (
        linear_mesh(cloth, field(cloth, 0.0005), cloth_faces),
        linear_mesh(body, field(body, 0.0), body_faces),
        box,
    )
