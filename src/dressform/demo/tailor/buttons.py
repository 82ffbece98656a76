"""Buttons: small closed domes, each a hard part, seated on the cloth."""

from dataclasses import replace

import numpy as np
from jaxtyping import Float

from dressform.demo.tailor.cloth import Cloth
from dressform.mesh.geometry import face_normals
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree

SIDES = 14
SEAT = 0.0006  # between cloth and the button's back, metres
BACK_SHARE = 0.1  # of the height, below which a button is back
# Outline from the middle of the back over the rim to the middle of the dome: share of radius, share of height.
PROFILE = ((0.55, 0.0), (0.96, 0.0), (1.0, 0.22), (0.82, 0.62), (0.45, 0.92))


def button(
    cloth: Cloth, place: Float[np.ndarray, "3"], *, towards: Float[np.ndarray, "3"], radius: float, height: float
) -> Cloth:
    """A button on the cloth in front of `place` along `towards`, facing as the cloth does there."""
    tree = Tree(cloth.vertices, cloth.faces)
    hit = first_hit(tree, place[None] + 1.0 * towards, -towards[None])
    seat = place + (1.0 - float(hit.distances[0])) * towards
    near = np.linalg.norm(cloth.vertices[cloth.faces].mean(axis=1) - seat, axis=1) < 2 * radius
    axis = face_normals(cloth.vertices, cloth.faces)[near].mean(axis=0)
    axis /= np.linalg.norm(axis)
    right = np.cross(np.array([0.0, 1.0, 0.0]), axis)
    right /= np.linalg.norm(right)
    up = np.cross(axis, right)
    # The back must clear the cloth under the whole button, not only at its middle.
    under = cloth.vertices[np.linalg.norm(cloth.vertices - seat, axis=1) < 2 * radius]
    lift = max(float(((under - seat) @ axis).max()), 0.0) + SEAT
    angle = 2 * np.pi * np.arange(SIDES) / SIDES
    ring = np.cos(angle)[:, None] * right + np.sin(angle)[:, None] * up
    rows = [seat + lift * axis + radius * out * ring + height * rise * axis for out, rise in PROFILE]
    vertices = np.concatenate([*rows, [seat + lift * axis], [seat + (lift + height) * axis]])
    index = np.arange(len(PROFILE) * SIDES).reshape(-1, SIDES)
    low, high = index[:-1], index[1:]
    quads = np.stack([low, np.roll(low, -1, axis=1), np.roll(high, -1, axis=1), high], axis=-1).reshape(-1, 4)
    sides = Cloth.of_quads(vertices, quads).faces
    back, top = len(vertices) - 2, len(vertices) - 1
    first, last = index[0], index[-1]
    caps = [
        np.stack([np.roll(first, -1), first, np.full(SIDES, back)], axis=1),
        np.stack([last, np.roll(last, -1), np.full(SIDES, top)], axis=1),
    ]
    # The flat of the back is one panel, the rest the other.
    shell = Cloth.of_faces(vertices, np.concatenate([sides, *caps]))
    flat = (vertices[shell.faces] - seat) @ axis < lift + BACK_SHARE * height
    return replace(shell, panels=flat.all(axis=1).astype(np.int64))
