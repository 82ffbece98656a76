"""Bodies and garments of closed form that the tests of lift, fit and garment share."""

import numpy as np
from jaxtyping import Float, Int

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.garment.garment import Garment

Mesh = tuple[Float[np.ndarray, "V 3"], Int[np.ndarray, "F 3"]]


def sphere(radius: float, *, rows: int = 24, columns: int = 40, twist: float = 0.0) -> Mesh:
    """A closed sphere of rings, its poles on the y axis; `twist` turns the rings, so that two never share vertices."""
    polar = np.pi * np.arange(1, rows) / rows
    around = 2 * np.pi * np.arange(columns) / columns + twist
    ring = np.stack(
        [
            np.outer(np.sin(polar), np.sin(around)),
            np.outer(np.cos(polar), np.ones(columns)),
            np.outer(np.sin(polar), np.cos(around)),
        ],
        axis=-1,
    ).reshape(-1, 3)
    vertices = radius * np.concatenate([[[0.0, 1.0, 0.0]], ring, [[0.0, -1.0, 0.0]]])
    faces = _grid(rows - 1, columns, start=1)
    last = len(vertices) - 1
    here = np.arange(columns)
    after = (here + 1) % columns
    top = np.stack([np.zeros(columns, dtype=np.int64), 1 + here, 1 + after], axis=1)
    low = last - columns
    bottom = np.stack([np.full(columns, last), low + after, low + here], axis=1)
    return vertices, np.concatenate([faces, top, bottom])


def tube(radius: float, height: float, edge: float, *, twist: float = 0.0, jitter: float = 0.0, seed: int = 0) -> Mesh:
    """An open tube around the y axis with triangles of about `edge`; `jitter` shifts the vertices along it."""
    columns = max(8, int(np.ceil(2 * np.pi * radius / edge)))
    rows = max(3, int(np.ceil(height / edge)) + 1)
    shift = np.random.default_rng(seed).uniform(-jitter, jitter, (2, rows, columns)) * edge
    shift[:, [0, -1]] = 0.0
    across = twist + 2 * np.pi * np.arange(columns) / columns + shift[0] / radius
    up = np.linspace(height / 2, -height / 2, rows)[:, None] + shift[1]
    vertices = np.stack([radius * np.sin(across), up, radius * np.cos(across)], axis=-1).reshape(-1, 3)
    return vertices, _grid(rows, columns, start=0)


def body_of(mesh: Mesh, **deltas: Float[np.ndarray, "V 3"]) -> Body:
    """A body without a skeleton whose morphs are given by name."""
    names = tuple(deltas)
    stacked = np.stack(list(deltas.values())) if deltas else np.zeros((0, len(mesh[0]), 3))
    return Body("phantom", *mesh, names, stacked, Range.unit(names))


def finger() -> Body:
    """A finger of 16 mm on a fist, that curls into a fist over two centimetres."""
    palm, faces = sphere(0.06, rows=40, columns=60)
    long = palm.copy()
    reach = np.maximum(palm @ np.array([0.0, 1.0, 0.0]) / 0.06 - 0.93, 0.0) / 0.07
    long[:, 1] += 0.07 * reach
    thin = reach > 0
    radial = np.hypot(long[:, 0], long[:, 2])
    long[thin, 0] *= np.minimum(0.009 / np.maximum(radial[thin], 1e-9), 1.0)
    long[thin, 2] *= np.minimum(0.009 / np.maximum(radial[thin], 1e-9), 1.0)
    hinge = np.array([0.0, 0.08, 0.0])
    share = np.clip((long[:, 1] - hinge[1]) / 0.02, 0.0, 1.0)
    angle = 2.2 * share * share * (3.0 - 2.0 * share)
    away = long - hinge
    turned = np.stack(
        [
            away[:, 0],
            np.cos(angle) * away[:, 1] - np.sin(angle) * away[:, 2],
            np.sin(angle) * away[:, 1] + np.cos(angle) * away[:, 2],
        ],
        axis=1,
    )
    return Body("fist", long, faces, ("curl",), (turned - away)[None], Range.unit(("curl",)))


def stall() -> Garment:
    """An open tube of 5 cm on the finger, 5 mm off its skin."""
    vertices, faces = tube(0.014, 0.05, 0.004)
    return Garment.of("stall", vertices + np.array([0.0, 0.105, 0.0]), faces)


def joined(*meshes: Mesh) -> Mesh:
    """Several meshes as one."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes[:-1])])
    faces = [faces + start for (_, faces), start in zip(meshes, starts)]
    return np.concatenate([vertices for vertices, _ in meshes]), np.concatenate(faces)


def _grid(rows: int, columns: int, *, start: int) -> Int[np.ndarray, "F 3"]:
    """Triangles of a grid whose columns close; outward for rings that run downward and turn from +Z to +X."""
    row, column = (index.ravel() for index in np.meshgrid(np.arange(rows - 1), np.arange(columns), indexing="ij"))
    a, b = start + row * columns + column, start + row * columns + (column + 1) % columns
    return np.concatenate([np.stack([a, a + columns, b], axis=1), np.stack([b, a + columns, b + columns], axis=1)])
