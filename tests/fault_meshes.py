"""Meshes with closed forms, and bodies and fits made of them, for the tests of the faults."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment

GOLDEN = (1 + 5**0.5) / 2


def icosphere(radius=1.0, *, level=4, middle=(0.0, 0.0, 0.0)):
    """A sphere of 20 · 4^level triangles with corners on it, outward normals."""
    vertices = np.array(
        [(s, t * GOLDEN, 0.0) for s in (-1, 1) for t in (-1, 1)]
        + [(0.0, s, t * GOLDEN) for s in (-1, 1) for t in (-1, 1)]
        + [(t * GOLDEN, 0.0, s) for s in (-1, 1) for t in (-1, 1)]
    )
    lengths = np.linalg.norm(vertices[:, None] - vertices[None], axis=2)
    joined = np.isclose(lengths, 2.0)
    faces = np.array(
        [
            (a, b, c)
            for a in range(12)
            for b in range(a)
            for c in range(b)
            if joined[a, b] and joined[b, c] and joined[a, c]
        ]
    )
    corners = vertices[faces]
    inward = (
        np.einsum("fi,fi->f", np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), corners[:, 0]) < 0
    )
    faces[inward] = faces[inward][:, ::-1]
    for _ in range(level):
        vertices, faces = quarter(vertices, faces)
        vertices = vertices / np.linalg.norm(vertices, axis=1, keepdims=True)
    vertices = vertices / np.linalg.norm(vertices, axis=1, keepdims=True)
    return radius * vertices + np.array(middle), faces


def quarter(vertices, faces):
    """Split every triangle into four at the middles of its sides."""
    sides = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    unique, inverse = np.unique(sides, axis=0, return_inverse=True)
    ab, bc, ca = len(vertices) + inverse.reshape(3, -1)
    a, b, c = faces.T
    split = np.concatenate([np.stack(each, axis=1) for each in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))])
    return np.concatenate([vertices, vertices[unique].mean(axis=1)]), split


def sheet(width, *, count=20, height=0.0):
    """A square cloth in the plane y = height, count × count cells, normals up."""
    steps = np.linspace(-width / 2, width / 2, count + 1)
    z, x = np.meshgrid(steps, steps, indexing="ij")
    vertices = np.stack([x, np.full_like(x, height), z], axis=-1).reshape(-1, 3)
    corner = (np.arange(count)[:, None] * (count + 1) + np.arange(count)).ravel()
    after = corner + count + 1
    faces = np.concatenate([np.stack([corner, after, corner + 1], 1), np.stack([corner + 1, after, after + 1], 1)])
    return vertices, faces


def pipe(radius, length, *, edge=0.01):
    """An open cylinder around the vertical axis of nearly equilateral triangles, normals outward."""
    around, up = round(2 * np.pi * radius / edge), round(length / (edge * 3**0.5 / 2))
    row, column = np.meshgrid(np.arange(up + 1), np.arange(around), indexing="ij")
    turn = 2 * np.pi * (column + 0.5 * (row % 2)) / around
    vertices = np.stack([radius * np.sin(turn), length * row / up, radius * np.cos(turn)], axis=-1).reshape(-1, 3)
    row, column = row[:-1].ravel(), column[:-1].ravel()
    a, b = row * around + column, row * around + (column + 1) % around
    c, d = a + around, b + around
    even = row % 2 == 0
    first = np.where(even[:, None], np.stack([a, b, c], 1), np.stack([a, d, c], 1))
    second = np.where(even[:, None], np.stack([b, d, c], 1), np.stack([a, b, d], 1))
    return vertices, np.concatenate([first, second])


def make_body(vertices, faces, **deltas):
    """A body with the given morphs."""
    names = tuple(deltas)
    stacked = np.stack([np.broadcast_to(delta, vertices.shape) for delta in deltas.values()])
    return Body("body", vertices, faces, names, stacked.astype(np.float64), Range.unit(names))


def make_fit(vertices, faces, body, **deltas):
    """A garment whose morphs move as given; those not named leave it where it is."""
    moved = np.zeros((len(body.morph_names), *vertices.shape))
    for name, delta in deltas.items():
        moved[body.morph_names.index(name)] = delta
    garment = Garment.of("cloth", vertices, faces)
    return Fit(body, garment, DEFAULT_FOLLOWING, vertices, moved)


def turned(vertices, *, axis=(1.0, 2.0, 3.0), angle=1.1, scale=1.0, shift=(0.0, 0.0, 0.0)):
    """Vertices turned, scaled and shifted."""
    unit = np.array(axis) / np.linalg.norm(axis)
    cross = np.cross(np.eye(3), unit)
    rotation = np.eye(3) * np.cos(angle) + np.sin(angle) * cross.T + (1 - np.cos(angle)) * np.outer(unit, unit)
    return scale * vertices @ rotation.T + np.array(shift)
