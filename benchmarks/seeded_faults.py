"""Generators of faults: each takes a clean garment on a clean body and puts in exactly one known cause.

A seed says what, where and how strongly; `insert` returns the scene with it. The same seed gives the same arrays.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
)
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.coarse import coarsened
from dressform.garment.along import distance_along
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.lift.feet import find_feet
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree
from seeded_scenes import Scene

PRINTING_METHOD = "surface"
"""Smooth following bridges rigid patches and feet that jump; this prints them."""
PATCH_MORPH, CURL_MORPH, NOISE_MORPH = "seeded rigid patch", "seeded curl", "seeded noise"
SWELLING_MORPH, PARTING_MORPH = "seeded swelling", "seeded parting"
"""Beginnings of the names of morphs that are no fault by themselves."""

KEPT_AT_BASE = 0.0015
"""Clearance that even the middles of seeded long triangles keep at the base, metres."""
HOLDING_ROUNDS = 12

MIN_GAP, MAX_GAP_SHARE = 0.002, 0.8
"""Skin nearer in the bulge's way than this, metres, is what the cloth lies on; how much of a gap it may take."""
SWELLING = 0.4
"""Height of a swelling, as a share of its radius."""
NOISE_SWELLING = 0.1
"""Height of the swelling that a rough morph has beside its noise, as a share of its radius."""
PARTING, PARTING_WHOLE, PARTING_REACH = 0.04, 0.08, 0.30
"""How far the part moves that a bulge leans to, and how far along the skin all of it and some of it moves, metres."""

STALL_ROOM, STALL_BEYOND, STALL_ROUND, STALL_ROWS = 0.006, 0.025, 18, 16
"""A stall's room round the finger and how far past its tip it reaches, metres; its vertices round and along."""
STALL_OPEN = 0.03
"""Length of finger that a stall covers, metres."""
COVERED = 0.03
"""A garment with cloth so near the tip covers it already, metres."""
CURL_RAMP = 0.02
"""Length over which a curl begins, metres."""

TOGGLE_ROUND, TOGGLE_ROWS, TOGGLE_GAP = 6, 6, 0.001
TOGGLE_SHARES = (0.5, 0.28)
"""Width and thickness of a toggle over its length."""


@dataclass(frozen=True)
class Seed:
    """One cause at one place.

    Attributes:
        cause: One of `CAUSES`.
        place: Where, at the base, (3,), metres.
        radius: How far it reaches around the place, metres.
        strength: How strongly, in the cause's own unit: see the generators.
        towards: A direction, (3,), where the cause needs one.
        across: The place of the body that the seed's own morph moves, where that is no fault by itself, (3,), metres.
        parting: Direction in which it moves, (3,).
        shape: Weights by morph name, where the cause needs a shape.
        morph: Name of the morph that it adds to the body, or empty.
        way: How the garment follows with it; empty for as before.
    """

    cause: str
    place: np.ndarray
    radius: float
    strength: float
    towards: np.ndarray = field(default_factory=lambda: np.zeros(3))
    across: np.ndarray = field(default_factory=lambda: np.zeros(3))
    parting: np.ndarray = field(default_factory=lambda: np.zeros(3))
    shape: Mapping[str, float] = field(default_factory=dict)
    morph: str = ""
    method: str = ""


def insert(scene: Scene, seed: Seed) -> Scene:
    """The scene with one cause put in."""
    return with_setting(GENERATORS[seed.cause](scene, seed), seed)


def with_setting(scene: Scene, seed: Seed) -> Scene:
    """The scene with what a seed needs around it and is no fault by itself: a swelling, a part that moves away."""
    body = scene.body
    for name, moved in SETTINGS.items():
        if seed.morph.startswith(name):
            body = with_morph(body, seed.morph, moved(body, seed))
    return replace(scene, body=body, method=seed.method or scene.method)


def _swelling(body: Body, seed: Seed) -> np.ndarray:
    """The skin under the place swells outward."""
    away = np.linalg.norm(body.vertices - seed.across, axis=1) / seed.radius
    normals = vertex_normals(body.vertices, body.faces)
    facing = np.clip(normals @ seed.parting, 0.0, 1.0)
    return (SWELLING * seed.radius * np.exp(-(away**2)) * facing)[:, None] * seed.parting


def _parting(body: Body, seed: Seed) -> np.ndarray:
    """The part across the gap moves."""
    across = np.zeros(len(body.vertices), dtype=bool)
    across[np.argmin(np.linalg.norm(body.vertices - seed.across, axis=1))] = True
    away = distance_along(body.vertices, body.faces, across, within=PARTING_REACH)
    moved = PARTING * soft((PARTING_REACH - away) / (PARTING_REACH - PARTING_WHOLE))
    return moved[:, None] * seed.parting


SETTINGS: Mapping[str, Callable[[Body, Seed], np.ndarray]] = {SWELLING_MORPH: _swelling, PARTING_MORPH: _parting}


def another_shape(scene: Scene, seed: Seed) -> Scene:
    """The garment carried to the shape `strength` × `shape` and sold for the base."""
    weights = seed.strength * scene.body.weights(dict(seed.shape))
    smooth = replace(scene, method="smooth")
    return replace(scene, garment=replace(scene.garment, vertices=smooth.fit.at(weights)))


def too_few_vertices(scene: Scene, seed: Seed) -> Scene:
    """A patch whose edges are collapsed to `strength` metres, held off the base body between its vertices too."""
    garment = scene.garment
    cloth = Cloth(garment.vertices, garment.faces, np.zeros(len(garment.faces), dtype=np.int64), garment.face_parts)
    coarse = coarsened(cloth, _along(garment, seed.place) < seed.radius, edge=seed.strength)
    tree = Tree(scene.body.vertices, scene.body.faces)
    long = _longest_sides(coarse.vertices, coarse.faces) > 0.6 * seed.strength
    vertices = _lifted_off(tree, coarse.vertices, coarse.faces, np.flatnonzero(long))
    strength = np.full(len(vertices), FULL_STRENGTH)
    made = replace(garment, vertices=vertices, faces=coarse.faces, face_parts=coarse.parts, strength=strength)
    return replace(scene, garment=made)


def rigid_patches(scene: Scene, seed: Seed) -> Scene:
    """A morph that shifts a patch of the body by `strength` metres as one stiff piece, tilted a little."""
    body = scene.body
    normals = vertex_normals(body.vertices, body.faces)
    patch = (np.linalg.norm(body.vertices - seed.place, axis=1) < seed.radius) & (normals @ seed.towards > 0.3)
    away = body.vertices - seed.place
    slope = np.tan(np.radians(4.0)) * (away @ np.cross(seed.towards, [0.0, 0.0, 1.0]))
    delta = np.where(patch, seed.strength + slope, 0.0)[:, None] * seed.towards
    return replace(scene, body=with_morph(body, seed.morph, delta))


def ambiguous_foot(scene: Scene, seed: Seed) -> Scene:
    """Cloth that bulges by `strength` metres towards another part of the body, until it is the nearer one there."""
    garment, body = scene.garment, scene.body
    height = seed.strength * soft(1.0 - _along(garment, seed.place) / seed.radius)
    risen = np.flatnonzero(height > 0)
    ways = np.repeat(seed.towards[None], len(risen), axis=0)
    gaps = first_hit(Tree(body.vertices, body.faces), garment.vertices[risen], ways, near=MIN_GAP).distances
    height[risen] = np.minimum(height[risen], MAX_GAP_SHARE * gaps)
    return replace(scene, garment=replace(garment, vertices=garment.vertices + height[:, None] * seed.towards))


def beyond_extremity(scene: Scene, seed: Seed) -> Scene:
    """An end of the body that curls by `strength` radians under cloth that is closed past its tip.

    Where the garment does not reach there, it gives way to a stall: a large garment with a small stall is graded by a
    percentile of its whole cloth, in which the stall would not be seen.
    """
    curling = replace(scene, body=with_morph(scene.body, seed.morph, _curl(scene.body, seed)))
    if np.linalg.norm(scene.garment.vertices - seed.place, axis=1).min() < COVERED:
        return curling
    return replace(curling, garment=Garment.of("stall", *_stall(scene.body, seed)))


def should_not_follow(scene: Scene, seed: Seed) -> Scene:
    """A toggle `strength` metres long, set on the cloth, that follows fully."""
    garment = scene.garment
    normals = vertex_normals(garment.vertices, garment.faces)
    seat = int(np.argmin(np.linalg.norm(garment.vertices - seed.place, axis=1)))
    up = normals[seat]
    along = seed.towards - (seed.towards @ up) * up
    along /= np.linalg.norm(along)
    half = 0.5 * seed.strength * np.array([1.0, *TOGGLE_SHARES])
    points, faces = _ball(TOGGLE_ROUND, TOGGLE_ROWS)
    points = points * half
    frame = np.stack([along, np.cross(up, along), up])
    near = garment.vertices - garment.vertices[seat]
    under = (np.abs(near @ along) < half[0]) & (np.abs(near @ frame[1]) < half[1]) & (np.abs(near @ up) < half[0])
    height = float((near[under] @ up).max(initial=0.0)) + half[2] + TOGGLE_GAP
    return replace(
        scene, garment=_joined(garment, garment.vertices[seat] + height * up + points @ frame, faces, "toggle")
    )


def too_tight(scene: Scene, seed: Seed) -> Scene:
    """A patch pushed to a clearance of `strength` metres (negative: inside the skin), softly at its rim."""
    garment = scene.garment
    feet = find_feet(Tree(scene.body.vertices, scene.body.faces), garment.vertices, garment.faces)
    share = soft(2.0 - 2.0 * _along(garment, seed.place) / seed.radius)
    push = share * np.minimum(seed.strength - feet.clearance, 0.0)
    return replace(scene, garment=replace(garment, vertices=garment.vertices + push[:, None] * feet.normals))


def rough_morph(scene: Scene, seed: Seed) -> Scene:
    """A morph that swells the skin around the place and shifts its vertices by `strength` metres of noise."""
    body = scene.body
    normals = vertex_normals(body.vertices, body.faces)
    away = np.linalg.norm(body.vertices - seed.across, axis=1) / seed.radius
    facing = np.clip(normals @ seed.parting, 0.0, 1.0) * np.exp(-(away**2))
    noise = np.random.default_rng(len(body.vertices)).normal(size=len(body.vertices))
    delta = (NOISE_SWELLING * seed.radius * facing)[:, None] * seed.parting
    return replace(
        scene, body=with_morph(body, seed.morph, delta + (seed.strength * facing * noise)[:, None] * normals)
    )


def method(scene: Scene, seed: Seed) -> Scene:
    """The garment follows by a rougher method, over skin that swells."""
    return scene


GENERATORS: Mapping[str, Callable[[Scene, Seed], Scene]] = {
    ANOTHER_SHAPE: another_shape,
    TOO_FEW_VERTICES: too_few_vertices,
    RIGID_PATCH: rigid_patches,
    AMBIGUOUS_FOOT: ambiguous_foot,
    BEYOND_EXTREMITY: beyond_extremity,
    SHOULD_NOT_FOLLOW: should_not_follow,
    TOO_TIGHT: too_tight,
    ROUGH_MORPH: rough_morph,
    METHOD: method,
}


def soft(share: np.ndarray) -> np.ndarray:
    """Smoothstep: 0 up to 0, 1 from 1 on."""
    share = np.clip(share, 0.0, 1.0)
    return share * share * (3.0 - 2.0 * share)


def with_morph(body: Body, name: str, delta: np.ndarray) -> Body:
    """The body with one more morph, of weight 0 to 1."""
    names = (*body.morph_names, name)
    box = Range(names, np.append(body.range.low, 0.0), np.append(body.range.high, 1.0))
    return replace(body, morph_names=names, deltas=np.concatenate([body.deltas, delta[None]]), range=box)


def _along(garment: Garment, place: np.ndarray) -> np.ndarray:
    """Distance along the cloth from the vertex nearest to a place, metres."""
    start = np.zeros(len(garment.vertices), dtype=bool)
    start[np.argmin(np.linalg.norm(garment.vertices - place, axis=1))] = True
    return distance_along(garment.vertices, garment.faces, start)


def _longest_sides(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    corners = vertices[faces]
    return np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)


def _lifted_off(tree: Tree, vertices: np.ndarray, faces: np.ndarray, long: np.ndarray) -> np.ndarray:
    """Vertices of long triangles moved outward until their middles, too, clear the base body."""
    steps = np.arange(7) / 6
    shares = np.array([(a, b, 1.0 - a - b) for a in steps for b in steps if a + b <= 1.0 + 1e-9])
    vertices = vertices.copy()
    for _ in range(HOLDING_ROUNDS):
        points = np.einsum("sc,fcx->fsx", shares, vertices[faces[long]]).reshape(-1, 3)
        feet = find_feet(tree, points, np.zeros((0, 3), dtype=np.int64))
        lack = np.maximum(KEPT_AT_BASE - feet.clearance, 0.0)
        if not lack.any():
            break
        worst = (lack[:, None] * feet.normals).reshape(len(long), -1, 3)
        at = np.argmax(lack.reshape(len(long), -1), axis=1)
        moves = np.zeros_like(vertices)
        for move, corners in zip(worst[np.arange(len(long)), at], faces[long]):
            larger = np.linalg.norm(move) > np.linalg.norm(moves[corners], axis=1)
            moves[corners[larger]] = move
        vertices += moves
    return vertices


def _curl(body: Body, seed: Seed) -> np.ndarray:
    """What lies within `radius` of a tip turned round an axis across it, beginning softly."""
    towards = seed.towards / np.linalg.norm(seed.towards)
    axis = np.cross(towards, [0.0, 1.0, 0.0])
    axis /= np.linalg.norm(axis)
    hinge = seed.place - seed.radius * towards
    from_hinge = body.vertices - hinge
    far = from_hinge @ towards
    near = np.linalg.norm(body.vertices - seed.place, axis=1) < 2.0 * seed.radius
    angles = seed.strength * soft(np.where(near, far / CURL_RAMP, 0.0))
    cosine, sine = np.cos(angles)[:, None], np.sin(angles)[:, None]
    along = (from_hinge @ axis)[:, None] * axis
    turned = cosine * from_hinge + sine * np.cross(axis, from_hinge) + (1.0 - cosine) * along
    return turned - from_hinge


def _stall(body: Body, seed: Seed) -> tuple[np.ndarray, np.ndarray]:
    """A tube round the tip, closed by a dome beyond it."""
    towards = seed.towards / np.linalg.norm(seed.towards)
    across = np.cross(towards, [0.0, 1.0, 0.0])
    across /= np.linalg.norm(across)
    back = seed.place - STALL_OPEN * towards
    tip = np.zeros(len(body.vertices), dtype=bool)
    tip[np.argmin(np.linalg.norm(body.vertices - seed.place, axis=1))] = True
    finger = distance_along(body.vertices, body.faces, tip, within=STALL_OPEN) < np.inf
    from_axis = body.vertices[finger] - seed.place
    from_axis -= (from_axis @ towards)[:, None] * towards
    radius = float(np.percentile(np.linalg.norm(from_axis, axis=1), 95)) + STALL_ROOM
    straight = STALL_OPEN + STALL_BEYOND - radius
    ways = 2.0 * np.pi * np.arange(STALL_ROUND) / STALL_ROUND
    round_axis = np.cos(ways)[:, None] * across + np.sin(ways)[:, None] * np.cross(towards, across)
    length = straight + 0.5 * np.pi * radius
    rows = []
    for step in np.linspace(0.0, 1.0, STALL_ROWS, endpoint=False) * length:
        angle = max(step - straight, 0.0) / radius
        far = min(step, straight) + radius * np.sin(angle)
        rows.append(back + far * towards + radius * np.cos(angle) * round_axis)
    points = np.concatenate([*rows, (back + (straight + radius) * towards)[None]])
    return points, _capped(STALL_ROUND, STALL_ROWS)


def _capped(count: int, rows: int) -> np.ndarray:
    """Triangles of rows of `count` vertices, closed by one vertex after the last, seen from outside."""
    row, column = (each.ravel() for each in np.meshgrid(np.arange(rows - 1), np.arange(count), indexing="ij"))
    a, b = row * count + column, row * count + (column + 1) % count
    c, d = a + count, b + count
    last = (rows - 1) * count + np.arange(count)
    tip = np.full(count, rows * count)
    after = (rows - 1) * count + (np.arange(count) + 1) % count
    return np.concatenate([np.stack([a, b, d], 1), np.stack([a, d, c], 1), np.stack([last, after, tip], 1)])


def _ball(count: int, rows: int) -> tuple[np.ndarray, np.ndarray]:
    """A closed ball of radius 1 whose poles lie on the first axis."""
    polar = np.pi * np.arange(1, rows + 1) / (rows + 1)
    ways = 2.0 * np.pi * np.arange(count) / count
    flat = np.stack([np.zeros(count), np.cos(ways), np.sin(ways)], 1)
    rings = [np.sin(angle) * flat - [np.cos(angle), 0.0, 0.0] for angle in polar]
    faces = _capped(count, rows)
    start = np.full(count, rows * count + 1)
    closing = np.stack([(np.arange(count) + 1) % count, np.arange(count), start], 1)
    points = np.concatenate([*rings, [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]]])
    return points, np.concatenate([faces, closing])


def _joined(garment: Garment, points: np.ndarray, faces: np.ndarray, part: str) -> Garment:
    """The garment with one more part, unconnected."""
    return Garment(
        garment.name,
        np.concatenate([garment.vertices, points]),
        np.concatenate([garment.faces, faces + len(garment.vertices)]),
        (*garment.part_names, part),
        np.concatenate([garment.face_parts, np.full(len(faces), len(garment.part_names))]),
        np.concatenate([garment.strength, np.full(len(points), FULL_STRENGTH)]),
    )
