"""Small closed bodies and open tubes with known geometry, for tests of files."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment

AROUND = 12
RINGS = 7


def tube(*, height: float, radius: float, low: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """An open tube around +Y from `low` to `low + height`: vertices and outward triangles."""
    turn = np.arange(AROUND) * 2 * np.pi / AROUND
    levels = low + np.linspace(0.0, height, RINGS)
    ring = radius * np.stack([np.sin(turn), np.cos(turn)], axis=1)
    vertices = np.stack([np.insert(ring, 1, level, axis=1) for level in levels]).reshape(-1, 3)
    faces = []
    for row in range(RINGS - 1):
        for column in range(AROUND):
            a, b = row * AROUND + column, row * AROUND + (column + 1) % AROUND
            faces += [(a, b, b + AROUND), (a, b + AROUND, a + AROUND)]
    return vertices, np.array(faces, dtype=np.int64)


def capped_tube(*, height: float, radius: float) -> tuple[np.ndarray, np.ndarray]:
    """The tube closed by a fan at each end."""
    vertices, faces = tube(height=height, radius=radius)
    bottom, top = len(vertices), len(vertices) + 1
    vertices = np.concatenate([vertices, [[0.0, 0.0, 0.0], [0.0, height, 0.0]]])
    last = (RINGS - 1) * AROUND
    caps = []
    for column in range(AROUND):
        following = (column + 1) % AROUND
        caps += [(bottom, following, column), (top, last + column, last + following)]
    return vertices, np.concatenate([faces, np.array(caps, dtype=np.int64)])


def capped_body(name: str, *, height: float = 1.7, radius: float = 0.15) -> Body:
    """A closed tube with two morphs (wider; a smooth belly), two joints, and the region "top"."""
    vertices, faces = capped_tube(height=height, radius=radius)
    share = vertices[:, 1] / height
    wider = vertices * (0.2, 0.0, 0.2)
    belly = np.stack([0 * share, 0 * share, 0.1 * np.exp(-(((share - 0.5) / 0.2) ** 2)) * (vertices[:, 2] > 0)], axis=1)
    rest = np.tile(np.eye(4), (2, 1, 1))
    rest[1, 1, 3] = height / 2
    skeleton = Skeleton(
        ("root", "chest"), np.array([-1, 0]), rest, np.linalg.inv(np.cumsum(rest - np.eye(4), axis=0) + np.eye(4))
    )
    skin = Skin.from_dense(np.stack([1 - share, share], axis=1))
    names = ("wider", "belly")
    return Body(
        name,
        vertices,
        faces,
        names,
        np.stack([wider, belly]),
        Range.unit(names),
        skeleton,
        skin,
        {"top": share > 0.5},
    )


def open_tube(*, radius: float = 0.18) -> Garment:
    """An open tube around the middle of `capped_body`: two parts, strength falling towards the hem."""
    vertices, faces = tube(height=0.6, radius=radius, low=0.6)
    parts = (np.arange(len(faces)) >= len(faces) // 2).astype(np.int64)
    strength = np.clip((vertices[:, 1] - 0.6) / 0.3, 0.0, 1.0)
    return Garment("tube", vertices, faces, ("skirt", "yoke"), parts, strength)


def made_fit(garment: Garment, body: Body) -> Fit:
    """A fit by formula: each morph moves the cloth along waves of its own, the joints by height."""
    x, y, z = garment.vertices.T
    deltas = [
        0.03 * np.stack([np.sin(5 * y + morph), np.cos(3 * x - morph), np.sin(4 * z) * (y > np.median(y))], axis=1)
        for morph in range(len(body.morph_names))
    ]
    skin = None
    if body.skeleton is not None:
        centres = body.skeleton.positions[:, 1]
        skin = Skin.from_dense(np.exp(-(((y[:, None] - centres) / 0.4) ** 2)))
    shape = (len(body.morph_names), len(y), 3)
    return Fit(body, garment, DEFAULT_FOLLOWING, garment.vertices, np.reshape(deltas, shape), skin)
