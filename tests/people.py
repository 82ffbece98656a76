"""A person with feet, so that it is seen which way it faces, and things that it wears, as meshes with known places."""

from dataclasses import replace
from functools import cache

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.formats.file_mesh import FileMesh
from phantom import CROWN, HIP, LEG_OUT, SHOULDERS, WAIST, Phantom

Mesh = tuple[np.ndarray, np.ndarray]

EYES, FACE = CROWN - 0.08, 0.081
"""Height of the eyes, and how far in front of the middle the face is there, metres."""


def joined(*meshes: Mesh) -> Mesh:
    """Several meshes as one."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    vertices = np.concatenate([vertices for vertices, _ in meshes])
    return vertices, np.concatenate([faces + start for (_, faces), start in zip(meshes, starts)])


def ball(middle: tuple[float, float, float], radii: tuple[float, float, float], *, around: int = 16) -> Mesh:
    """An ellipsoid, closed and outward."""
    turn = np.linspace(0, 2 * np.pi, around, endpoint=False)
    rings = [
        np.stack([np.sin(tilt) * np.cos(turn), np.full(around, np.cos(tilt)), -np.sin(tilt) * np.sin(turn)], axis=1)
        for tilt in np.linspace(0, np.pi, around // 2 + 1)[1:-1]
    ]
    vertices = np.concatenate([*rings, [[0, 1, 0], [0, -1, 0]]]) * radii + middle
    first, after = np.arange(around), (np.arange(around) + 1) % around
    count, top, bottom = len(rings), len(rings) * around, len(rings) * around + 1
    faces = [np.stack([np.full(around, top), first, after], 1)]
    for ring in range(count - 1):
        here, there = ring * around, (ring + 1) * around
        faces += [np.stack([first + here, first + there, after + here], 1)]
        faces += [np.stack([after + here, first + there, after + there], 1)]
    last = (count - 1) * around
    faces += [np.stack([first + last, np.full(around, bottom), after + last], 1)]
    return vertices, np.concatenate(faces).astype(np.int64)


def ring(height: float, radius: float, *, tall: float = 0.05, ahead: float = 0.0, around: int = 32) -> Mesh:
    """An open band around +Y."""
    turn = np.linspace(0, 2 * np.pi, around, endpoint=False)
    low = np.stack([radius * np.sin(turn), np.full(around, height), radius * np.cos(turn) + ahead], axis=1)
    vertices = np.concatenate([low, low + np.array([0, tall, 0])])
    first, after = np.arange(around), (np.arange(around) + 1) % around
    faces = [np.stack([first, after, after + around], 1), np.stack([first, after + around, first + around], 1)]
    return vertices, np.concatenate(faces)


@cache
def person_mesh() -> Mesh:
    """The phantom on two feet that point to +Z."""
    body = Phantom(cell=0.024).body
    feet = [ball((side * LEG_OUT, 0.03, 0.06), (0.045, 0.035, 0.13)) for side in (1.0, -1.0)]
    return joined((body.vertices, body.faces), *feet)


def person(*, morphs: tuple[str, ...] = ("grow",)) -> Body:
    """It as a body; each morph makes it a tenth larger."""
    vertices, faces = person_mesh()
    deltas = np.tile(0.1 * vertices, (len(morphs), 1, 1))
    return Body("person", vertices, faces, morphs, deltas, Range.unit(morphs))


def sunglasses(*, eyes: float = EYES, front: float = FACE + 0.02, wide: float = 0.082) -> Mesh:
    """Two lenses before the eyes, a bridge, and a temple on each side of the head."""
    lenses = [ball((side * 0.032, eyes, front), (0.027, 0.021, 0.003), around=10) for side in (1.0, -1.0)]
    bridge = ball((0.0, eyes + 0.008, front), (0.01, 0.003, 0.003), around=8)
    temple = (0.003, 0.005, front / 2)
    temples = [ball((side * wide, eyes + 0.01, front / 2), temple, around=8) for side in (1.0, -1.0)]
    return joined(*lenses, bridge, *temples)


def head(*, height: float = 0.0) -> Body:
    """A head alone, its middle at a height."""
    vertices, faces = ball((0.0, height, 0.0), (0.078, 0.12, 0.1), around=32)
    return Body("head", vertices, faces, ("grow",), 0.1 * vertices[None], Range.unit(("grow",)))


def belt() -> Mesh:
    """A band around the waist."""
    return ring(WAIST - 0.02, 0.145)


def skirt() -> Mesh:
    """Bands from the waist to the knees, wider and further ahead towards the hem."""
    heights = np.linspace(0.5, HIP + 0.05, 8)
    wide = [ring(height, 0.16 + 0.2 * (HIP - height), ahead=0.05 * (HIP - height)) for height in heights]
    return joined(*wide)


def shoes() -> Mesh:
    """Two, open above, 5 mm from the feet."""
    pair = [ball((side * LEG_OUT, 0.03, 0.06), (0.05, 0.04, 0.135)) for side in (1.0, -1.0)]
    vertices, faces = joined(*pair)
    used, kept = np.unique(faces[(vertices[faces, 1] < 0.031).all(axis=1)], return_inverse=True)
    return vertices[used], kept.reshape(-1, 3)


def backpack() -> Mesh:
    """A sack behind the shoulders."""
    return ball((0.0, SHOULDERS - 0.2, -0.22), (0.14, 0.2, 0.1))


WORN = {"sunglasses": sunglasses, "belt": belt, "skirt": skirt, "shoes": shoes, "backpack": backpack}


def stored(mesh: Mesh, linear: np.ndarray, *, unit: float | None = None, up: str | None = None) -> FileMesh:
    """A mesh as a file would hold it that `linear` turns back, with what the file says of its unit and axis."""
    vertices, faces = mesh
    made = FileMesh.plain("mesh", vertices @ np.linalg.inv(linear).T, faces)
    return replace(made, metres_per_unit=unit, up=up)
