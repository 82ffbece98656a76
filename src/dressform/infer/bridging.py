"""Cloth that bridges from one part of the body to another, and so says nothing of the shape under it."""

from dataclasses import replace

import numpy as np
from jaxtyping import Bool

from dressform.body.body import Body
from dressform.garment.along import distance_along
from dressform.garment.garment import Garment
from dressform.mesh.geometry import edge_lengths, face_areas
from dressform.mesh.nearest import closest
from dressform.mesh.topology import edges
from dressform.mesh.tree import Tree

JUMP, MIN_JUMP = 3.0, 0.03
"""The nearest skin jumps where it lies so many times farther apart than two joined vertices, and so far, metres."""
AROUND = 0.06
"""Cloth nearer to a jump than this hangs between the two parts, metres along the cloth."""
MIN_SHARE = 0.3
"""A garment of which a smaller share bridges is judged as a whole: sleeves and legs bridge at their roots (the demo's
coat 0.27, its guernseys 0.18 and less; capes and ponchos 0.3 to 0.4)."""
MIN_LEFT = 0.4
"""Share of a garment's area that must be left to say anything without the rest."""


def without_bridges(body: Body, garment: Garment) -> Garment | None:
    """The garment without the cloth that bridges; itself where little does, None where too little is left.

    Proof: tests/infer/test_bridging.py
    """
    bridged = _bridged(body, garment)
    areas = face_areas(garment.vertices, garment.faces)
    kept = ~bridged[garment.faces].any(axis=1)
    if areas[~kept].sum() < MIN_SHARE * areas.sum():
        return garment
    return part_of(garment, kept) if areas[kept].sum() >= MIN_LEFT * areas.sum() else None


def part_of(garment: Garment, faces: Bool[np.ndarray, " F"]) -> Garment:
    """Some triangles of a garment, as a garment."""
    used, corners = np.unique(garment.faces[faces], return_inverse=True)
    return replace(
        garment,
        vertices=garment.vertices[used],
        faces=corners.reshape(-1, 3),
        face_parts=garment.face_parts[faces],
        strength=garment.strength[used],
    )


def _bridged(body: Body, garment: Garment) -> Bool[np.ndarray, " G"]:
    """Vertices near an edge whose ends lie over different parts of the body."""
    points = closest(Tree(body.vertices, body.faces), garment.vertices).points
    pairs = edges(garment.faces)
    apart = np.linalg.norm(points[pairs[:, 0]] - points[pairs[:, 1]], axis=1)
    jumps = pairs[apart > np.maximum(JUMP * edge_lengths(garment.vertices, pairs), MIN_JUMP)]
    ends = np.zeros(len(garment.vertices), dtype=bool)
    ends[jumps] = True
    return distance_along(garment.vertices, garment.faces, ends, within=AROUND) <= AROUND
