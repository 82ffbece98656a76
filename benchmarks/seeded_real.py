"""Clean garments on a real body: a T-shirt and a skirt held off its skin, vests, hose and a glove cut around it."""

from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.demo.cache import cached
from dressform.garment.garment import Garment
from dressform.lift.feet import find_feet
from dressform.mesh.topology import boundary_edges, face_components
from dressform.mesh.tree import Tree
from lift_scenes import SUIT_STEP, glove, offset_surface, skirt

REAL_GARMENTS = ("T-shirt", "skirt", "vest 10 mm", "vest 35 mm", "hose", "glove")
VESTS, HOSE_ROOM = {"vest 10 mm": 0.010, "vest 35 mm": 0.035}, 0.010
"""Their distance from the skin, metres."""
VEST, VEST_HALF, HOSE = (0.52, 0.80), 0.15, (0.06, 0.60)
"""Shares of the stature that they cover, and half the width of a vest, metres: short of the arms."""
BOX = 0.05
SHIRT_ROOM, SKIRT_ROOM = 0.006, 0.010
"""Clearance that is kept at the base, metres."""
HOLDING_ROUNDS = 4


def real_garments(body: Body, shirt: Garment) -> dict[str, Garment]:
    """All of them by name; made once, then read from the cache."""
    key = sha256(body.vertices.tobytes() + shirt.vertices.tobytes() + Path(__file__).read_bytes()).hexdigest()[:16]
    arrays = cached("seeded-real", key, lambda: _cut_around(body, shirt))
    return {name: Garment.of(name, arrays[f"{name}.vertices"], arrays[f"{name}.faces"]) for name in REAL_GARMENTS}


def _cut_around(body: Body, shirt: Garment) -> dict[str, np.ndarray]:
    """All real garments, flat."""
    made = {"T-shirt": held_off(body, shirt, SHIRT_ROOM), "skirt": held_off(body, skirt(body), SKIRT_ROOM)}
    for name, distance in VESTS.items():
        made[name] = _suit(body, name, distance, *VEST, half=VEST_HALF)
    made["hose"] = _suit(body, "hose", HOSE_ROOM, *HOSE, half=1.0)
    made["glove"] = glove(body)
    return {
        f"{name}.{part}": array
        for name, garment in made.items()
        for part, array in (("vertices", garment.vertices), ("faces", garment.faces))
    }


def _suit(body: Body, name: str, distance: float, low: float, high: float, *, half: float) -> Garment:
    """Cloth at a distance from the skin between two shares of the stature and two planes at the sides, metres."""
    floor, stature = float(body.vertices[:, 1].min()), body.stature
    start, end = body.vertices.min(axis=0) - BOX, body.vertices.max(axis=0) + BOX
    start[:2] = max(float(start[0]), -half - BOX), floor + low * stature - BOX
    end[:2] = min(float(end[0]), half + BOX), floor + high * stature + BOX
    suit = Garment.of(name, *offset_surface(body, distance, SUIT_STEP, start, end))
    return _cropped(suit, floor + low * stature, floor + high * stature, half=half)


def _cropped(garment: Garment, low: float, high: float, *, half: float) -> Garment:
    """The largest piece between two heights and two planes, without corners at which openings touch."""
    height = garment.vertices[:, 1]
    kept = (height > low) & (height < high) & (np.abs(garment.vertices[:, 0]) < half)
    part = only(garment, kept[garment.faces].all(axis=1))
    while True:
        pieces = face_components(part.faces, len(part.vertices))
        part = only(part, pieces == np.bincount(pieces).argmax())
        touching = np.bincount(boundary_edges(part.faces).ravel(), minlength=len(part.vertices)) > 2
        if not touching.any():
            return part
        part = only(part, ~touching[part.faces].any(axis=1))


def held_off(body: Body, garment: Garment, margin: float) -> Garment:
    """The garment with at least `margin` between its vertices and the skin of the base body, metres."""
    tree = Tree(body.vertices, body.faces)
    vertices = garment.vertices.copy()
    for _ in range(HOLDING_ROUNDS):
        feet = find_feet(tree, vertices, garment.faces)
        vertices += np.maximum(margin - feet.clearance, 0.0)[:, None] * feet.normals
    return replace(garment, vertices=vertices)


def only(garment: Garment, kept: np.ndarray) -> Garment:
    """Some triangles of a garment, and the vertices that they use."""
    used, corners = np.unique(garment.faces[kept], return_inverse=True)
    return replace(
        garment,
        vertices=garment.vertices[used],
        faces=corners.reshape(-1, 3),
        face_parts=garment.face_parts[kept],
        strength=garment.strength[used],
    )
