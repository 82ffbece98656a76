"""Cases: which cause is seeded where into which garment, and the shapes on which it is seen.

A case is kept only where the check finds a fault at the seeded place, on a shape on which the clean garment has none.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from dressform.arrays import Points, Weights
from dressform.body.shapes import BASE_LABEL, Shape, distinct, label_of
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    CAUSES,
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
)
from dressform.faults.broken import bend
from dressform.faults.places import band_value
from dressform.faults.registry import FAULTS
from dressform.faults.results import SEVERITIES, Place
from dressform.garment.along import distance_along
from dressform.lift.feet import find_feet
from dressform.mesh.rays import first_hit
from dressform.mesh.topology import boundary_edges
from dressform.mesh.tree import Tree
from seeded_faults import (
    COVERED,
    CURL_MORPH,
    NOISE_MORPH,
    PARTING_MORPH,
    PATCH_MORPH,
    PRINTING_METHOD,
    SWELLING_MORPH,
    Seed,
    insert,
    with_setting,
)
from seeded_scenes import Scene

REACHES = {"gloves": 0.03, "real glove": 0.03} | dict.fromkeys(("souwester", "man_souwester"), 0.05)
REACHES |= dict.fromkeys(("clogs", "man_clogs"), 0.045)
REACH = 0.08
"""Radius of a seeded place by garment, metres: small things have small faults."""
SIGNS = {
    TOO_FEW_VERTICES: ("exposed", "depth"),
    TOO_TIGHT: ("exposed", "depth"),
    ANOTHER_SHAPE: ("exposed", "depth", "clearance"),
    SHOULD_NOT_FOLLOW: ("hard", "crossing"),
    BEYOND_EXTREMITY: ("pucker", "stretch"),
}
"""Faults by which a cause is seen; every fault for the others. A patch that is pushed or made coarse may fold as well,
but that is the pushing."""
NEAR = 0.05
"""A fault so far outside the seeded radius still is the seeded one's, metres at the base."""
SEED_SHARES = (1.0, 0.7, 0.4)
"""Weights of the morph that a seed brings with it, on which it is looked for."""
MAX_SHAPES = 5
"""Shapes on which a seed is looked for."""
SHOWN_SHAPES = 2
"""Of those, so many are handed on, the worst first."""
ATTEMPTS = 4
"""Seeds that are tried, one after another, for each case asked for."""
GAPS, MIN_DETOUR, MAX_GAPS = (0.012, 0.35), 2.2, 12
"""Gaps that cloth is made to lean across, metres; how many times longer the way along the skin is at least; how many
are looked at."""
MIN_OWN = 0.001
"""Cloth nearer than this in the way is where it starts from, metres."""
SLANT = 0.6
"""How far from the skin's normal it may lean, as a share of a unit vector added to it."""
RIM = 0.02
ROOMS = 5.0
"""A coarse patch reaches so many times as far as the room under it."""
SWOLLEN_SHARE, PRINTED_SHARE = 0.7, 0.7
"""How often the skin under a seed swells by a morph of its own, and how often feet that jump are printed."""
LARGER_SHARE, LIKELY = 0.3, 4
"""How often a garment is made for a larger shape; among how many shapes is chosen."""
MIN_GAIN, MIN_AREA = 0.003, 0.35
"""The skin must come or go by so much, metres, under this share of the garment: where a shape differs in one spot only,
a garment made for it is the same as one that is cut too close or too wide there."""
CLOSE, UNUSUAL_ROOM = 0.015, 0.025
"""Median clearance of a close garment, metres; room that one made for a larger shape must have more than before at its
roomiest place, to count as shown, metres."""
HINGES = (0.02, 0.05)
"""How far behind the tip it bends, metres."""
TOGGLE, LOOKED_AT, MAX_BENT = 0.02, 40, 6
"""Half the length of a toggle, metres; places that are looked at for the cloth that bends, and of those taken."""
FOOT_HEIGHT, HAND_LENGTH = 0.08, 0.17
"""Below the one there are toes, and so near the end of the arm there is a thumb, metres."""
NOISE = (0.001, 0.003)
"""Noise of a rough morph, metres."""
ROUGH_METHOD = "nearest"
"""The method that prints the body's own vertices into the cloth."""
IN_SKIN = (TOO_TIGHT, ANOTHER_SHAPE)
"""Causes that put cloth into the skin of the base."""
MAX_IN_FRONT = 0.2e-4
"""So much skin that comes to lie in front of the cloth there, m², is seen as such."""
SEED = 4
CLEAN = SEVERITIES[0]


@dataclass(frozen=True)
class Case:
    """A garment with one or two seeded causes, and where they are seen.

    Attributes:
        name: Garment, causes, number.
        clean: The scene before.
        seeds: What was put in, in this order.
        scene: The scene after.
        shapes: The base, then the shapes that show each seed, the worst first.
    """

    name: str
    clean: Scene
    seeds: tuple[Seed, ...]
    scene: Scene
    shapes: tuple[Shape, ...]

    def with_only(self, seeds: tuple[Seed, ...]) -> Scene:
        """The scene with some of the seeds."""
        scene = self.scene if seeds == self.seeds else self.clean
        for seed in seeds if scene is self.clean else ():
            scene = insert(scene, seed)
        return replace(scene, method=self.scene.method)


def known_weights(scene: Scene, weights: Weights, other: Scene) -> Weights:
    """The weights of a scene's shape for another whose body lacks some of its morphs, or has some more."""
    named = dict(zip(scene.body.morph_names, weights.tolist()))
    return other.body.weights({name: named.get(name, 0.0) for name in other.body.morph_names})


def propose(scene: Scene, cause: str, number: int) -> Seed | None:
    """One seed of a cause for a garment; the same for the same number. None where the cause cannot apply."""
    rng = np.random.default_rng([SEED, crc32(scene.name.encode()), CAUSES.index(cause), number])
    return PROPOSALS[cause](scene, rng)


def _another_shape(scene: Scene, rng: np.random.Generator) -> Seed:
    """One or two of the shapes that take most room from under the garment, or that give it most."""
    fit, box = scene.fit, scene.body.range
    outward = np.einsum("kgx,gx->kg", fit.deltas, scene.feet.normals)
    growth = outward.mean(axis=1)
    low, high = growth * box.low, growth * box.high
    larger = rng.random() < LARGER_SHARE
    gains = np.maximum(low, high) if larger else -np.minimum(low, high)
    ends = np.where((low > high) == larger, box.low, box.high)
    everywhere = (np.abs(ends[:, None] * outward) > MIN_GAIN).mean(axis=1) > MIN_AREA
    likely = np.argsort(-gains)[:LIKELY]
    likely = likely[everywhere[likely] & (gains[likely] > 0)]
    if not likely.size:
        return Seed(ANOTHER_SHAPE, fit.base.mean(axis=0), np.inf, 0.0)
    chosen = rng.choice(likely, size=min(int(rng.integers(1, 3)), len(likely)), replace=False)
    shape = {box.names[k]: float(ends[k]) for k in chosen}
    return Seed(ANOTHER_SHAPE, fit.base.mean(axis=0), np.inf, float(rng.choice([0.6, 0.8, 1.0])), shape=shape)


def _too_few_vertices(scene: Scene, rng: np.random.Generator) -> Seed:
    """A patch whose triangles are long for the room that there is: the skin must come through their middles."""
    reach = REACHES.get(scene.name, REACH)
    wide, long = float(rng.uniform(1.2, 1.8)), float(rng.uniform(0.7, 1.1))
    if rng.random() >= SWOLLEN_SHARE:
        return Seed(TOO_FEW_VERTICES, _bending_place(scene, rng, 0.5 * wide * reach), wide * reach, long * reach)
    place = _inner_place(scene, rng, 0.5 * wide * reach)
    room = scene.feet.clearance[np.argmin(np.linalg.norm(scene.garment.vertices - place, axis=1))]
    reach = max(reach, ROOMS * float(room))
    return _swollen(scene, Seed(TOO_FEW_VERTICES, place, wide * reach, long * reach))


def _rigid_patches(scene: Scene, rng: np.random.Generator) -> Seed:
    reach = REACHES.get(scene.name, REACH)
    radius = float(rng.uniform(0.6, 0.9)) * reach
    foot, normal = _foot_of(scene, _inner_place(scene, rng, 0.7 * radius))
    step = float(rng.uniform(0.006, 0.015))
    return Seed(RIGID_PATCH, foot, radius, step, normal, morph=PATCH_MORPH, method=PRINTING_METHOD)


def _ambiguous_foot(scene: Scene, rng: np.random.Generator) -> Seed | None:
    """A place of a sheet whose cloth looks across a gap at another part of the body."""
    garment, body = scene.garment, scene.body
    if not len(boundary_edges(garment.faces)):
        return None
    tree, feet = Tree(body.vertices, body.faces), scene.feet
    rim = np.zeros(len(garment.vertices), dtype=bool)
    rim[boundary_edges(garment.faces)] = True
    free = np.isinf(distance_along(garment.vertices, garment.faces, rim, within=RIM))
    looking = np.flatnonzero(free & (feet.clearance > 0) & (feet.clearance < NEAR))
    ways = feet.normals[looking] + SLANT * rng.uniform(-1.0, 1.0, (len(looking), 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    seen = first_hit(tree, garment.vertices[looking], ways, near=GAPS[0], far=GAPS[1])
    own = first_hit(Tree(garment.vertices, garment.faces), garment.vertices[looking], ways, near=MIN_OWN, far=GAPS[1])
    clear = seen.blocked & ~(own.blocked & (own.distances < seen.distances))  # else it would run into its own cloth
    looking, ways, across, gaps = (each[clear] for each in (looking, ways, seen.faces, seen.distances))
    for k in rng.permutation(len(looking))[:MAX_GAPS]:
        start = np.zeros(len(body.vertices), dtype=bool)
        start[body.faces[feet.faces[looking[k]]]] = True
        far = MIN_DETOUR * gaps[k]
        if np.isfinite(distance_along(body.vertices, body.faces, start, within=far)[body.faces[across[k]]]).any():
            continue
        towards = ways[k]
        return Seed(
            AMBIGUOUS_FOOT,
            garment.vertices[looking[k]],
            float(rng.uniform(0.9, 1.3)) * max(REACHES.get(scene.name, REACH), 0.7 * gaps[k]),
            float(rng.uniform(0.62, 0.8)) * float(gaps[k]),
            towards,
            across=body.vertices[body.faces[across[k]]].mean(axis=0),
            parting=_away(towards, rng),
            morph=PARTING_MORPH,
            method=PRINTING_METHOD if rng.random() < PRINTED_SHARE else "",
        )
    return None


def _away(towards: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A unit direction across a gap or along it, never closing it."""
    across = np.cross(towards, rng.normal(size=3))
    made = across / np.linalg.norm(across) + float(rng.uniform(0.0, 1.0)) * towards
    return made / np.linalg.norm(made)


def _beyond_extremity(scene: Scene, rng: np.random.Generator) -> Seed:
    """The thumb, which stands alone, or the toes where the garment covers them."""
    vertices = scene.body.vertices
    side = float(rng.choice([-1.0, 1.0])) * vertices[:, 0]
    low = (vertices[:, 1] < vertices[:, 1].min() + FOOT_HEIGHT) & (side > 0)
    toes, thumb = (
        int(np.argmax(np.where(where, vertices[:, 2], -np.inf))) for where in (low, side > side.max() - HAND_LENGTH)
    )
    covers = np.linalg.norm(scene.garment.vertices - vertices[toes], axis=1).min() < COVERED
    tip = toes if covers else thumb
    radius = float(rng.uniform(*HINGES))
    start = np.zeros(len(vertices), dtype=bool)
    start[tip] = True
    end = np.isfinite(distance_along(vertices, scene.body.faces, start, within=0.05))
    towards = vertices[tip] - vertices[end].mean(axis=0)
    angle = float(rng.uniform(1.2, 1.8))
    return Seed(BEYOND_EXTREMITY, vertices[tip], radius, angle, towards / np.linalg.norm(towards), morph=CURL_MORPH)


def _should_not_follow(scene: Scene, rng: np.random.Generator) -> Seed:
    towards = rng.normal(size=3)
    length = float(rng.uniform(0.035, 0.05))
    if rng.random() < SWOLLEN_SHARE:
        place = _inner_place(scene, rng, TOGGLE)
        return _swollen(scene, Seed(SHOULD_NOT_FOLLOW, place, length, length, towards, method=PRINTING_METHOD))
    return Seed(SHOULD_NOT_FOLLOW, _bending_place(scene, rng, TOGGLE), length, length, towards)


def _swollen(scene: Scene, seed: Seed) -> Seed:
    """The seed with a swelling of the skin under its place."""
    foot, normal = _foot_of(scene, seed.place)
    return replace(seed, across=foot, parting=normal, morph=f"{SWELLING_MORPH} for {seed.cause}")


def _too_tight(scene: Scene, rng: np.random.Generator) -> Seed | None:
    """A patch of a sheet: of a thing with thick walls, one wall would be pushed through the other."""
    if not len(boundary_edges(scene.garment.faces)):
        return None
    reach = REACHES.get(scene.name, REACH)
    radius = float(rng.uniform(1.2, 2.0)) * reach
    strength = float(rng.uniform(-0.003, 0.0005))
    seed = Seed(TOO_TIGHT, _inner_place(scene, rng, 0.5 * radius), radius, strength)
    return _swollen(scene, seed) if rng.random() < 0.5 * SWOLLEN_SHARE else seed


def _rough_morph(scene: Scene, rng: np.random.Generator) -> Seed:
    reach = REACHES.get(scene.name, REACH)
    place = _inner_place(scene, rng, 0.5 * reach)
    foot, normal = _foot_of(scene, place)
    noise = float(rng.uniform(*NOISE))
    method = PRINTING_METHOD if rng.random() < PRINTED_SHARE else ""
    return Seed(ROUGH_MORPH, place, reach, noise, across=foot, parting=normal, morph=NOISE_MORPH, method=method)


def _method(scene: Scene, rng: np.random.Generator) -> Seed:
    reach = REACHES.get(scene.name, REACH)
    return _swollen(scene, Seed(METHOD, _inner_place(scene, rng, 0.5 * reach), reach, 0.0, method=ROUGH_METHOD))


PROPOSALS: Mapping[str, Callable[[Scene, np.random.Generator], Seed | None]] = {
    ANOTHER_SHAPE: _another_shape,
    TOO_FEW_VERTICES: _too_few_vertices,
    RIGID_PATCH: _rigid_patches,
    AMBIGUOUS_FOOT: _ambiguous_foot,
    BEYOND_EXTREMITY: _beyond_extremity,
    SHOULD_NOT_FOLLOW: _should_not_follow,
    TOO_TIGHT: _too_tight,
    ROUGH_MORPH: _rough_morph,
    METHOD: _method,
}


def _inner_place(scene: Scene, rng: np.random.Generator, room: float) -> np.ndarray:
    """One such place."""
    return _inner_places(scene, rng, room, 1)[0]


def _inner_places(scene: Scene, rng: np.random.Generator, room: float, count: int) -> Points:
    """Vertices of the outer cloth at least `room` from its openings, metres along it, (N, 3)."""
    garment = scene.garment
    rim = np.zeros(len(garment.vertices), dtype=bool)
    rim[boundary_edges(garment.faces)] = True
    inside = distance_along(garment.vertices, garment.faces, rim, within=room) > room
    near = (scene.feet.clearance > 0) & (scene.feet.clearance < NEAR)
    wanted = np.flatnonzero(inside & near)
    return garment.vertices[rng.choice(wanted if wanted.size else np.flatnonzero(near), size=count)]


def _bending_place(scene: Scene, rng: np.random.Generator, radius: float) -> np.ndarray:
    """One of the places at which the cloth bends most on some shape, `radius` being what is looked at, metres."""
    base = scene.fit.base
    moved = [scene.fit.at(shape.weights) for shape in scene.clean_shapes]
    places = _inner_places(scene, rng, radius, LOOKED_AT)
    bends = []
    for place in places:
        near = np.flatnonzero(np.linalg.norm(base - place, axis=1) < radius)
        bends.append(max(float(bend(base[near], each[near]).distances.max()) for each in moved))
    return places[int(rng.choice(np.argsort(bends)[-MAX_BENT:]))]


def _foot_of(scene: Scene, place: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    feet = find_feet(Tree(scene.body.vertices, scene.body.faces), place[None], np.zeros((0, 3), dtype=np.int64))
    return feet.points[0], feet.normals[0]


def at_place(scene: Scene, seed: Seed, other: Seed) -> Seed:
    """The seed moved to where another one is; garments made for another shape are everywhere."""
    if not np.isfinite(other.radius):
        return seed
    if seed.cause == RIGID_PATCH:
        foot, normal = _foot_of(scene, other.place)
        return replace(seed, place=foot, towards=normal)
    moved = replace(seed, place=other.place)
    return _swollen(scene, moved) if seed.morph.startswith(SWELLING_MORPH) else moved


def apart(one: Seed, other: Seed) -> bool:
    """Whether no fault can lie near both."""
    return bool(np.linalg.norm(one.place - other.place) > one.radius + other.radius + 2 * NEAR)


def shows(scene: Scene, seed: Seed, place: Place) -> bool:
    """Whether a measured place lies where the seed was put, judged at the base, and has a fault of its cause."""
    near = np.linalg.norm(scene.base_point(place) - seed.place) <= seed.radius + NEAR
    return bool(near and place.fault in SIGNS.get(seed.cause, FAULTS))


def badness(scene: Scene, seed: Seed, shape: Shape) -> float:
    """How bad the faults at the seeded place are: the largest, over the bound from which it counts as slight."""
    places = scene.measure(shape.weights).places
    bands = scene.check.bands
    found = [abs(band_value(place)) / bands[place.fault][0] for place in places if shows(scene, seed, place)]
    return max(found, default=0.0)


def make_case(clean: Scene, seed: Seed, name: str) -> Case | None:
    """The case of one seed, or None where nothing is seen of it, or where it puts cloth into the skin of the base.

    Cloth in the skin is too tight, or made for another shape, whatever put it there: other seeds do not do it.
    """
    scene = insert(clean, seed)
    if seed.cause not in IN_SKIN and _in_front(scene) > _in_front(clean) + MAX_IN_FRONT:
        return None
    return _shown(name, clean, (seed,), scene, _candidates(clean, scene, seed))


def _in_front(scene: Scene) -> float:
    """Skin in front of the cloth at the base, m²."""
    return scene.measure(np.zeros(len(scene.body.morph_names))).at_base.skin_area


def make_pair(clean: Scene, first: Case, second: Seed, name: str) -> Case | None:
    """The case of two seeds, or None where one of them is not seen."""
    scene = insert(insert(clean, first.seeds[0]), second)
    own = [Shape(shape.label, known_weights(first.scene, shape.weights, scene)) for shape in first.shapes[1:]]
    shapes = distinct([*own, *_candidates(clean, scene, second)])
    return _shown(name, clean, (first.seeds[0], second), scene, shapes)


def without_noise(seed: Seed) -> Seed:
    """A rough morph that only swells: what is wrong with that is not the noise's."""
    return replace(seed, strength=0.0)


def _shown(name: str, clean: Scene, seeds: tuple[Seed, ...], scene: Scene, shapes: Sequence[Shape]) -> Case | None:
    """The case on the base and the shapes that show each seed most, if all are seen.

    Shapes on which the clean garment is not clean, with all that its seeds need around it, are left out.
    """
    around = clean
    for seed in seeds:
        around = insert(around, without_noise(seed)) if seed.cause == ROUGH_MORPH else with_setting(around, seed)
    shapes = [each for each in shapes if around.measure(known_weights(scene, each.weights, around)).severity == CLEAN]
    kept = [Shape(BASE_LABEL, np.zeros(len(scene.body.morph_names)))]
    for seed in seeds:
        scores = np.array([badness(scene, seed, shape) for shape in shapes])
        order = [int(k) for k in np.argsort(-scores, kind="stable") if scores[k] > 0]
        if not order and not _roomy(clean, scene, seed):
            return None
        kept += [shapes[k] for k in order[:SHOWN_SHAPES]]
    return Case(name, clean, seeds, scene, tuple(distinct(kept)))


def _roomy(clean: Scene, scene: Scene, seed: Seed) -> bool:
    """Whether a garment made for another shape stands unusually far off the base body."""
    if seed.cause != ANOTHER_SHAPE:
        return False
    if np.median(clean.feet.clearance) > CLOSE:  # what is loose by design may be looser
        return False
    return float(np.percentile(scene.feet.clearance - clean.feet.clearance, 95)) >= UNUSUAL_ROOM


def _candidates(clean: Scene, scene: Scene, seed: Seed) -> list[Shape]:
    """Shapes on which the seed may be seen: its own morph, or those that move the place most; clean before."""
    if seed.morph:
        weights = [scene.body.weights({seed.morph: share}) for share in SEED_SHARES]
        return [Shape(label_of(scene.body.range, each), each) for each in weights]
    fit = clean.fit
    near = np.linalg.norm(fit.base - seed.place, axis=1) <= seed.radius + NEAR
    moved = np.sqrt((fit.deltas[:, near] ** 2).sum(axis=(1, 2)))
    shapes = [shape for shape in clean.clean_shapes if shape.weights.any()]
    shapes.sort(key=lambda shape: -float(np.abs(shape.weights) @ moved))
    return [Shape(shape.label, known_weights(clean, shape.weights, scene)) for shape in shapes[:MAX_SHAPES]]
