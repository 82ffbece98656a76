"""Small synthetic bodies and garments with closed forms, for tests that need a whole job and no real mesh.

The body is a standing capsule, 1.7 m tall: every clearance, girth and depth of cloth round it is known exactly.
"""

from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.garment.garment import Garment

RADIUS = 0.16
STATURE = 1.7
BELLY_HEIGHT = 1.0
BELLY_WIDTH = 0.12
BELLY_DEPTH = 0.06
GIRTH_GAIN = 0.25
TALL_GAIN = 0.10
MORPHS = ("belly", "girth", "tall")


def capsule(*, rings: int = 44, sides: int = 48) -> tuple[np.ndarray, np.ndarray]:
    """A closed capsule round the vertical axis, feet at height 0: vertices (V, 3), faces (F, 3)."""
    arc = RADIUS * np.pi / 2
    straight = STATURE - 2 * RADIUS
    along = np.linspace(0, 2 * arc + straight, rings + 2)[1:-1]
    turn = np.where(along < arc, along / RADIUS, np.maximum(np.pi / 2, np.pi / 2 + (along - arc - straight) / RADIUS))
    radii = RADIUS * np.sin(turn)
    heights = RADIUS - RADIUS * np.cos(turn) + np.clip(along - arc, 0, straight)
    poles = np.array([[0.0, 0.0, 0.0], [0.0, STATURE, 0.0]])
    vertices = np.vstack([_rings(radii, heights, sides), poles])
    bottom, top = rings * sides, rings * sides + 1
    around = np.arange(sides)
    after = (around + 1) % sides
    last = (rings - 1) * sides
    caps = np.vstack(
        [
            np.stack([np.full(sides, bottom), after, around], axis=1),
            np.stack([np.full(sides, top), last + around, last + after], axis=1),
        ]
    )
    return vertices, np.vstack([_walls(rings, sides), caps])


def tube(
    *, clearance: float = 0.02, bottom: float = 0.6, top: float = 1.3, rings: int = 24, sides: int = 40
) -> tuple[np.ndarray, np.ndarray]:
    """An open tube at `clearance` from the straight stretch of the capsule: vertices (V, 3), faces (F, 3)."""
    heights = np.linspace(bottom, top, rings)
    return _rings(np.full(rings, RADIUS + clearance), heights, sides), _walls(rings, sides)


def phantom_body(*, rings: int = 44, sides: int = 48) -> Body:
    """The capsule with morphs: a belly bump in front, more girth, more stature (an affine map)."""
    vertices, faces = capsule(rings=rings, sides=sides)
    names = MORPHS
    return Body("phantom", vertices, faces, names, _deltas(vertices), Range.unit(names))


def phantom_tube(*, clearance: float = 0.02, rings: int = 24, sides: int = 40, name: str = "tube") -> Garment:
    """The tube as a garment that follows fully."""
    return Garment.of(name, *tube(clearance=clearance, rings=rings, sides=sides))


def write_obj(path: Path, vertices: np.ndarray, faces: np.ndarray) -> Path:
    """Write a mesh as OBJ, nine digits."""
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in vertices]
    lines += [f"f {a} {b} {c}" for a, b, c in faces + 1]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def phantom_files(folder: Path, *, clearance: float = 0.02) -> tuple[Path, Path]:
    """The phantom body as OBJ with its folder of morphs, and the tube as OBJ: paths of body and garment."""
    body = phantom_body()
    path = write_obj(folder / "phantom.obj", body.vertices, body.faces)
    for name, delta in zip(body.morph_names, body.deltas):
        write_obj(folder / "morphs" / f"{name}.obj", body.vertices + delta, body.faces)
    return path, write_obj(folder / "tube.obj", *tube(clearance=clearance))


def _deltas(vertices: np.ndarray) -> np.ndarray:
    level = np.exp(-(((vertices[:, 1] - BELLY_HEIGHT) / BELLY_WIDTH) ** 2))
    ahead = np.clip(vertices[:, 2] / RADIUS, 0, None) ** 2
    belly = BELLY_DEPTH * (level * ahead)[:, None] * np.array([0.0, 0.0, 1.0])
    girth = GIRTH_GAIN * vertices * np.array([1.0, 0.0, 1.0])
    tall = TALL_GAIN * vertices * np.array([0.0, 1.0, 0.0])
    return np.stack([belly, girth, tall])


def _rings(radii: np.ndarray, heights: np.ndarray, sides: int) -> np.ndarray:
    angles = 2 * np.pi * np.arange(sides) / sides
    x = radii[:, None] * np.sin(angles)
    z = radii[:, None] * np.cos(angles)
    return np.stack([x, np.broadcast_to(heights[:, None], x.shape), z], axis=-1).reshape(-1, 3)


def _walls(rings: int, sides: int) -> np.ndarray:
    lower = (np.arange(rings - 1)[:, None] * sides + np.arange(sides)).ravel()
    after = (np.arange(rings - 1)[:, None] * sides + (np.arange(sides) + 1) % sides).ravel()
    return np.vstack(
        [
            np.stack([lower, after, after + sides], axis=1),
            np.stack([lower, after + sides, lower + sides], axis=1),
        ]
    )
