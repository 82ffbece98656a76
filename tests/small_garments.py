"""Small garments whose right way of following is known: a buckled belt, a helmet, a fringed hem, a lantern in the hand.

Bodies are capsules with bumps, so that each morph does one thing.
"""

from dataclasses import replace

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.garment.garment import Garment
from people import Mesh, ball, joined
from phantoms import BELLY_HEIGHT, RADIUS, STATURE, capsule, tube

HAND = (0.34, 0.82, 0.0)
HAND_RADIUS = 0.035
REACH = 0.05


def box(middle: tuple[float, float, float], sides: tuple[float, float, float], *, cells: int = 4) -> Mesh:
    """A closed box, each face a grid of cells, outward."""
    steps = np.linspace(-0.5, 0.5, cells + 1)
    points, faces = [], []
    for axis in range(3):
        for end in (-0.5, 0.5):
            grid = np.zeros((cells + 1, cells + 1, 3))
            grid[..., axis] = end
            grid[..., (axis + 1) % 3], grid[..., (axis + 2) % 3] = np.meshgrid(steps, steps, indexing="ij")
            start = len(points) * (cells + 1) ** 2
            corner = (np.arange(cells)[:, None] * (cells + 1) + np.arange(cells)).ravel() + start
            across, over = corner + cells + 1, corner + cells + 2
            made = np.concatenate([np.stack([corner, across, over], 1), np.stack([corner, over, corner + 1], 1)])
            points.append(grid.reshape(-1, 3))
            faces.append(made if end > 0 else made[:, ::-1])
    loose, triangles = np.concatenate(points), np.concatenate(faces)
    vertices, number = np.unique(np.round(loose, 9), axis=0, return_inverse=True)
    return vertices * sides + middle, number.ravel()[triangles]


def of_parts(name: str, parts: dict[str, Mesh]) -> Garment:
    """A garment of named parts; vertices that coincide are one."""
    vertices, faces = joined(*parts.values())
    kept, number = np.unique(np.round(vertices, 9), axis=0, return_inverse=True)
    owner = np.repeat(np.arange(len(parts)), [len(mesh[1]) for mesh in parts.values()])
    return Garment(name, kept, number.ravel()[faces], tuple(parts), owner, np.ones(len(kept)))


def bumped(name: str, vertices: np.ndarray, faces: np.ndarray, **deltas: np.ndarray) -> Body:
    """A body with morphs of one's own."""
    names = tuple(deltas)
    return Body(name, vertices, faces, names, np.stack(list(deltas.values())), Range.unit(names))


def bump(
    vertices: np.ndarray, at: tuple[float, float, float], width: float, move: tuple[float, float, float]
) -> np.ndarray:
    """A soft bump round a point."""
    away = np.linalg.norm(vertices - at, axis=1)
    return np.exp(-((away / width) ** 2))[:, None] * np.array(move)


def keeper() -> Body:
    """A trunk with a belly, a brow and a knee that bulge, and a hand apart that reaches out."""
    trunk, faces = capsule(rings=32, sides=36)
    vertices, faces = joined((trunk, faces), ball(HAND, (HAND_RADIUS,) * 3))
    is_hand = (np.arange(len(vertices)) >= len(trunk))[:, None]
    belly = bump(vertices, (0.0, BELLY_HEIGHT, RADIUS), 0.14, (0.0, 0.0, 0.06))
    brow = bump(vertices, (0.0, STATURE - 0.06, 0.10), 0.05, (0.0, 0.004, 0.006))
    knee = bump(vertices, (0.0, 0.52, RADIUS), 0.03, (0.0, 0.0, 0.03))
    reach = np.where(is_hand, np.array([REACH, 0.0, 0.0]), 0.0)
    still = ~is_hand
    return bumped("keeper", vertices, faces, belly=belly * still, brow=brow * still, knee=knee * still, reach=reach)


def belt(*, buckle: str = "buckle") -> Garment:
    """A strap about the belly with a hard buckle in front of it."""
    strap = tube(clearance=0.012, bottom=BELLY_HEIGHT - 0.03, top=BELLY_HEIGHT + 0.03, rings=5, sides=48)
    return of_parts("belt", {"strap": strap, buckle: box((0.0, BELLY_HEIGHT, RADIUS + 0.024), (0.11, 0.05, 0.006))})


def helmet(*, name: str = "helmet") -> Garment:
    """A shell over the crown, 15 mm off it."""
    vertices, faces = capsule(rings=44, sides=32)
    middle = np.array([0.0, STATURE - RADIUS, 0.0])
    over = (vertices[faces, 1] > STATURE - 0.15).all(axis=1)
    used, kept = np.unique(faces[over], return_inverse=True)
    grown = middle + (vertices[used] - middle) * (1.0 + 0.015 / RADIUS)
    return replace(Garment.of(name, grown, kept.reshape(-1, 3)), part_names=(name,))


def fringed_hem() -> Garment:
    """A short skirt with strands that hang from its hem, well clear of the legs."""
    skirt = tube(clearance=0.05, bottom=0.58, top=0.8, rings=8, sides=40)
    turn = 2 * np.pi * np.arange(40) / 40
    drop = np.linspace(0.58, 0.46, 7)
    strands = []
    for side in range(0, 40, 2):
        ends = [turn[side], turn[side + 1]]
        points = [
            [(RADIUS + 0.05) * np.sin(end), level, (RADIUS + 0.05) * np.cos(end)] for level in drop for end in ends
        ]
        low = 2 * np.arange(6)
        faces = np.concatenate([np.stack([low, low + 2, low + 3], 1), np.stack([low, low + 3, low + 1], 1)])
        strands.append((np.array(points), faces))
    return of_parts("fringed skirt", {"skirt": skirt, "fringe": joined(*strands)})


def lantern() -> Garment:
    """A lantern that hangs from the hand, close to the thigh: a loop round the hand, and a stiff lantern under it."""
    loop = box((HAND[0], HAND[1], 0.0), (0.09, 0.09, 0.09), cells=5)
    glass = box((HAND[0] - 0.06, HAND[1] - 0.145, 0.0), (0.12, 0.2, 0.12), cells=5)
    return of_parts("lantern", {"grip": loop, "lantern": glass})
