"""Phantom bodies whose morphs have no fault, or exactly one that was put there."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from meshes import sphere
from phantoms import RADIUS, capsule

RINGS, SIDES = 110, 96
HEIGHT = 1.0
STEP = 0.012
PATCH = (0.085, 0.10)
LEFT, RIGHT = 1.0, 0.6
STRAY = 0.005
ISLAND = 0.0015
LAG = 0.004
NOISE = 0.002


def joined(*meshes: tuple[np.ndarray, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Several meshes as one, without a vertex in common."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in meshes)])
    faces = [triangles + start for (_, triangles), start in zip(meshes, starts)]
    return np.concatenate([vertices for vertices, _ in meshes]), np.concatenate(faces)


def body_of(vertices: np.ndarray, faces: np.ndarray, deltas: dict[str, np.ndarray], *, low: float = 0.0) -> Body:
    names = tuple(deltas)
    interval = Range(names, np.full(len(names), low), np.ones(len(names)))
    return Body("phantom", vertices, faces, names, np.stack(list(deltas.values())), interval)


def skin() -> tuple[np.ndarray, np.ndarray]:
    """A standing capsule with edges of 1 to 2 cm."""
    return capsule(rings=RINGS, sides=SIDES)


def bump(vertices: np.ndarray, centre: tuple[float, float, float], width: float, height: float) -> np.ndarray:
    """A smooth bump along the spoke from the capsule's axis."""
    spokes = vertices * np.array([1.0, 0.0, 1.0])
    outward = spokes / np.maximum(np.linalg.norm(spokes, axis=1, keepdims=True), 1e-9)
    away = np.linalg.norm(vertices - np.array(centre), axis=1)
    level = np.exp(-((away / width) ** 2)) * (away < 3 * width)
    return height * level[:, None] * outward


def belly(vertices: np.ndarray) -> np.ndarray:
    return bump(vertices, (0.0, HEIGHT, RADIUS), 0.12, 0.05)


def in_patch(vertices: np.ndarray) -> np.ndarray:
    """A rectangle on the front, 17 cm wide and 20 cm high."""
    level = np.abs(vertices[:, 1] - HEIGHT) < PATCH[1]
    return level & (np.abs(vertices[:, 0]) < PATCH[0]) & (vertices[:, 2] > 0)


def clean_deltas(vertices: np.ndarray) -> dict[str, np.ndarray]:
    return {
        "belly": belly(vertices),
        "girth": 0.25 * vertices * np.array([1.0, 0.0, 1.0]),
        "tall": 0.10 * vertices * np.array([0.0, 1.0, 0.0]),
        "lean": 0.1 * vertices[:, 1:2] * np.array([1.0, 0.0, 0.0]),
        "flank_l": bump(vertices, (RADIUS, HEIGHT, 0.0), 0.08, 0.03),
        "flank_r": bump(vertices, (-RADIUS, HEIGHT, 0.0), 0.08, 0.03),
        "nothing": np.zeros_like(vertices),
    }


def faulty_deltas(vertices: np.ndarray) -> dict[str, np.ndarray]:
    """Morphs by the fault that each has."""
    rng = np.random.default_rng(4)
    count = len(vertices)
    stray = belly(vertices)
    alone = nearest(vertices, (0.0, 0.6, RADIUS))
    stray[alone] += np.array([0.0, 0.0, STRAY])
    noise = NOISE * rng.standard_normal((count, 1)) * vertices / RADIUS * np.array([1.0, 0.0, 1.0])
    sides = LEFT * bump(vertices, (RADIUS, HEIGHT, 0.0), 0.08, 0.03)
    sides += RIGHT * bump(vertices, (-RADIUS, HEIGHT, 0.0), 0.08, 0.03)
    return {
        "rigid_patch": in_patch(vertices)[:, None] * np.array([0.0, 0.0, STEP]),
        "stray": stray,
        "islands": belly(vertices) + bump(vertices, (0.0, 0.4, RADIUS), 0.02, ISLAND),
        "lopsided": sides,
        "rough": 0.2 * vertices * np.array([1.0, 0.0, 1.0]) + noise,
    }


def nearest(vertices: np.ndarray, point: tuple[float, float, float]) -> int:
    return int(np.argmin(np.linalg.norm(vertices - np.array(point), axis=1)))


def clean_body() -> Body:
    vertices, faces = skin()
    return body_of(vertices, faces, clean_deltas(vertices))


def faulty_body() -> Body:
    vertices, faces = skin()
    return body_of(vertices, faces, faulty_deltas(vertices))


def body_with_button(*, follows: bool) -> Body:
    """The capsule with a small ball 5 mm before its belly, which goes with it or stays behind."""
    ball, triangles = sphere(2, radius=0.012)
    vertices, faces = joined(skin(), (ball + np.array([0.0, HEIGHT, RADIUS + 0.017]), triangles))
    shift = LAG * np.exp(-(((vertices[:, 1] - HEIGHT) / 0.25) ** 2))[:, None] * np.array([0.0, 0.0, 1.0])
    if not follows:
        shift[-len(ball) :] = 0.0
    return body_of(vertices, faces, {"forward": shift})


def two_legs(*, gap: float = 0.06) -> Body:
    """Two capsules side by side, and a morph that pushes the left one inward by two thirds of the gap."""
    vertices, faces = capsule(rings=60, sides=48)
    aside = np.array([RADIUS + gap / 2, 0.0, 0.0])
    both, triangles = joined((vertices + aside, faces), (vertices - aside, faces))
    left = np.arange(len(both)) < len(vertices)
    push = np.array([2.0 / 3.0 * gap, 0.0, 0.0])
    return body_of(both, triangles, {"left_in": np.where(left[:, None], -push, 0.0)})


def rod(*, radius: float = 0.008, length: float = 0.16) -> tuple[np.ndarray, np.ndarray]:
    """A finger: a thin capsule along +Y, its root at height 0."""
    rings, sides = 90, 24
    arc = radius * np.pi / 2
    straight = length - 2 * radius
    along = np.linspace(0, 2 * arc + straight, rings + 2)[1:-1]
    turn = np.where(along < arc, along / radius, np.maximum(np.pi / 2, np.pi / 2 + (along - arc - straight) / radius))
    heights = radius - radius * np.cos(turn) + np.clip(along - arc, 0, straight)
    angles = 2 * np.pi * np.arange(sides) / sides
    around = radius * np.sin(turn)[:, None, None] * np.stack([np.sin(angles), 0 * angles, np.cos(angles)], axis=1)
    points = around + heights[:, None, None] * np.array([0.0, 1.0, 0.0])
    poles = np.array([[0.0, 0.0, 0.0], [0.0, length, 0.0]])
    vertices = np.concatenate([points.reshape(-1, 3), poles])
    lower = (np.arange(rings - 1)[:, None] * sides + np.arange(sides)).ravel()
    after = (np.arange(rings - 1)[:, None] * sides + (np.arange(sides) + 1) % sides).ravel()
    first, last = np.arange(sides), (rings - 1) * sides + np.arange(sides)
    bottom, top = len(vertices) - 2, len(vertices) - 1
    faces = [
        np.stack([lower, after, after + sides], axis=1),
        np.stack([lower, after + sides, lower + sides], axis=1),
        np.stack([np.full(sides, bottom), np.roll(first, -1), first], axis=1),
        np.stack([np.full(sides, top), last, np.roll(last, -1)], axis=1),
    ]
    return vertices, np.concatenate(faces)


def bent(vertices: np.ndarray, *, joint: float, blend: float, angle: float) -> np.ndarray:
    """Turn what lies above a joint about the x axis, blended over a length; displacement."""
    share = np.clip((vertices[:, 1] - joint) / blend + 0.5, 0.0, 1.0)
    share = (share * share * (3 - 2 * share))[:, None]
    spoke = vertices - np.array([0.0, joint, 0.0])
    cos, sin = np.cos(angle), np.sin(angle)
    turned = spoke @ np.array([[1.0, 0.0, 0.0], [0.0, cos, -sin], [0.0, sin, cos]]).T
    return share * (turned - spoke)
