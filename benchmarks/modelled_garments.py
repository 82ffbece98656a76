"""Garments whose modelling shape is known: cut by the demo's tailor on the shape itself, then worn in by chance.

Nothing of the lift or of the search goes into them: the tailor cuts for whatever body stands before it. What makers do
is added at random: more or less room, panels that vary, wrinkles, hems turned in or flared, open fronts, linings.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from scipy.spatial import cKDTree

from dressform.arrays import ClothPoints, Weights
from dressform.body.body import Body
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.wearer import Wearer
from dressform.demo.wardrobe import DESIGNS
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.topology import boundary_edges
from dressform.mesh.tree import Tree

ROOM = (-0.25, 0.5)  # a maker gives this share less or more room than the pattern says
PANEL, PANEL_LENGTH = 0.12, 0.12  # spread of the room over panels, as a share; metres over which it is alike
WRINKLE, WRINKLE_LENGTH, JITTER = 0.0008, 0.03, 0.0007  # metres
TUCKED, FLARED, OPENED, LINED = 0.5, 0.2, 0.4, 0.33  # how often
HEM, TUCK = 0.025, 0.003  # a hem so wide is turned in until it is so far off the skin, metres
FLARE, FLARE_REACH = 0.02, 0.03  # how far an edge stands off, and how far in, metres
SLIT, LAPEL, LAPEL_REACH = 0.03, 0.03, 0.05  # half-width of an open front, how far its edges stand off, metres
LINING = 0.0025  # thickness of a lined garment, metres
LEAST = 0.0008  # metres off the skin
WAVES = 64  # of a random field
FEW = 3  # morphs that are mixed in half of the shapes
MILD = 0.6  # share of the range that all morphs together are drawn from in the other half
CUT_LOOSE = (0.05, 0.07)  # metres added all round


@dataclass(frozen=True)
class Worn:
    """A garment and the truth about it.

    Attributes:
        name: Its name in the wardrobe.
        garment: The cloth.
        base: Build that it was cut for. weights: Shape that it was cut for, (K,).
        changes: What else was done to it.
    """

    name: str
    garment: Garment
    base: str
    weights: Weights
    changes: tuple[str, ...]


def random_weights(body: Body, seed: int) -> Weights:
    """Even seeds: three morphs anywhere in their intervals; odd seeds: all of them, in the inner part."""
    chance = np.random.default_rng(seed)
    weights = body.range.low + body.range.widths * chance.random(len(body.morph_names))
    if seed % 2:
        return MILD * weights
    few = np.zeros(len(weights), dtype=bool)
    few[chance.permutation(len(weights))[:FEW]] = True
    return np.where(few, weights, 0.0)


def wear(
    bodies: Mapping[str, Body], name: str, base: str, weights: Weights, seed: int, *, cut_loose: bool = False
) -> Worn:
    """Cut a garment for a shape and make it a maker's own."""
    body = bodies[base]
    chance = np.random.default_rng([seed, sum(name.encode())])
    cloth = DESIGNS[name].make(wearer_at(body, weights))
    tree = Tree(body.at(weights), body.faces)
    vertices, faces, parts, changes = _changed(chance, cloth, tree)
    if cut_loose:
        vertices = vertices + chance.uniform(*CUT_LOOSE) * _outward(tree, vertices)[1]
        changes = (*changes, "cut loose")
    garment = Garment(name, vertices, faces, DESIGNS[name].part_names, parts, np.full(len(vertices), FULL_STRENGTH))
    return Worn(name, garment, base, weights, changes)


def wearer_at(body: Body, weights: Weights) -> Wearer:
    """The body at some weights for the tailor, its joints carried by the skin around them."""
    assert body.skeleton is not None
    assert body.skin is not None
    moved, skeleton = body.at(weights), body.skeleton
    shares = body.skin.dense(len(skeleton.names))
    joints = skeleton.positions.copy()
    for joint, parent in enumerate(skeleton.parents):
        # The skin that a joint shares with its parent lies around it.
        ring = shares[:, joint] * shares[:, parent] if parent >= 0 else shares[:, joint]
        if ring.sum() > 0:
            joints[joint] += ring @ (moved - body.vertices) / ring.sum()
    return Wearer(moved, body.faces, skeleton.names, joints, shares)


def _changed(
    chance: np.random.Generator, cloth: Cloth, tree: Tree
) -> tuple[ClothPoints, np.ndarray, np.ndarray, tuple[str, ...]]:
    """The cloth as another maker would have made it: vertices, faces, part of each face, and what was done."""
    vertices, faces, parts = cloth.vertices, cloth.faces, cloth.parts
    clearance, outward = _outward(tree, vertices)
    room = chance.uniform(*ROOM) + PANEL * _field(chance, vertices, PANEL_LENGTH)
    wrinkles = WRINKLE * _field(chance, vertices, WRINKLE_LENGTH) + JITTER * chance.normal(size=len(vertices))
    wanted = clearance + np.maximum(clearance, LEAST) * room + wrinkles
    edges = np.unique(boundary_edges(faces))
    away = cKDTree(vertices[edges]).query(vertices)[0] if len(edges) else np.full(len(vertices), np.inf)
    changes = []
    luck = chance.random()
    if luck < TUCKED and len(edges):
        changes.append("hems turned in")
        wanted = np.where(away < HEM, TUCK, wanted)
    elif luck < TUCKED + FLARED and len(edges):
        changes.append("edges flared")
        wanted = wanted + FLARE * np.exp(-away / FLARE_REACH)
    if chance.random() < OPENED:
        front = (outward[:, 2] > 0.3) & (vertices[:, 1] > 0.8)
        gone = ((np.abs(vertices[:, 0]) < SLIT) & front)[faces].all(axis=1)
        if gone.any():
            changes.append("front open")
            faces, parts = faces[~gone], parts[~gone]
            lapel = np.exp(-np.maximum(np.abs(vertices[:, 0]) - SLIT, 0.0) / LAPEL_REACH) * front
            wanted = wanted + chance.uniform(0, LAPEL) * lapel
    vertices = vertices + (np.maximum(wanted, LEAST) - clearance)[:, None] * outward
    if chance.random() < LINED:
        changes.append("lined")
        inner = vertices - np.minimum(LINING, 0.5 * np.maximum(wanted, LEAST))[:, None] * outward
        faces = np.concatenate([faces, faces[:, ::-1] + len(vertices)])
        parts, vertices = np.concatenate([parts, parts]), np.concatenate([vertices, inner])
    used, compact = np.unique(faces, return_inverse=True)
    return vertices[used], compact.reshape(-1, 3), parts, tuple(changes)


def _outward(tree: Tree, points: ClothPoints) -> tuple[Float[np.ndarray, " G"], ClothPoints]:
    """Clearance, and the direction away from the skin."""
    clearance, found = signed_clearance(tree, points)
    touching = np.abs(clearance) < 1e-6
    return clearance, (points - found.points) / np.where(touching, np.inf, clearance)[:, None]


def _field(chance: np.random.Generator, points: ClothPoints, length: float) -> Float[np.ndarray, " G"]:
    """A smooth random field of unit variance that is alike over `length` metres."""
    waves, phases = chance.normal(size=(WAVES, 3)) / length, chance.uniform(0, 2 * np.pi, WAVES)
    return np.sqrt(2 / WAVES) * np.cos(points @ waves.T + phases).sum(axis=1)
