"""Bodies and garments that several benchmarks share: the demo's, and a real T-shirt on real bodies where there are any.

The real meshes are not part of the project. The environment variable DRESSFORM_DATA names the folder that holds them.
"""

import os
from dataclasses import replace
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.formats.load import load_body, load_garment
from dressform.garment.garment import Garment

DATA = "DRESSFORM_DATA"

SHIRT_SCALE, SHIRT_MOVE = 1.26, np.array([0.0, -0.072, 0.036])
"""Puts the T-shirt, made for nobody here, onto the mean body: scaled about its centroid, then moved, metres."""

BELLY, HIPS, BUST, WHOLE = (1.08, 0.10), (0.88, 0.10), (1.24, 0.07), (1.10, 0.30)
"""Height of the middle and half-width of made-up morphs of the real body, metres."""

TRUNK, BEYOND = 0.16, 0.34
"""The trunk swells fully up to this distance from the middle; from the other one on, along the arms, nothing does."""


def demo_scenes() -> dict[str, tuple[Body, Garment]]:
    """Every garment of the demo with the body it was cut for."""
    bodies = make_demo_bodies()
    return {name: (bodies[made.made_on], made.garment) for name, made in make_wardrobe(bodies).items()}


def real_scene() -> tuple[Body, Garment] | None:
    """The T-shirt on the mean body, whose morphs lead to the mean woman and man, and five made-up ones."""
    folder = Path(os.environ.get(DATA, ""))
    if not (folder / "garments" / "tshirt.obj").exists():
        return None
    mean, woman, man = (load_body(folder / "bodies" / f"mean_{name}.obj").body for name in ("all", "female", "male"))
    morphs = {"woman": woman.vertices - mean.vertices, "man": man.vertices - mean.vertices} | _made_up(mean.vertices)
    names = tuple(morphs)
    low = np.array([-0.5, -0.5, *[0.0] * (len(names) - 2)])
    high = np.array([1.5, 1.5, *[1.0] * (len(names) - 2)])
    body = replace(mean, morph_names=names, deltas=np.stack(list(morphs.values())), range=Range(names, low, high))
    garment = load_garment(folder / "garments" / "tshirt.obj", units="m").garment
    middle = garment.vertices.mean(axis=0)
    return body, replace(garment, vertices=(garment.vertices - middle) * SHIRT_SCALE + middle + SHIRT_MOVE)


def _made_up(vertices: np.ndarray) -> dict[str, np.ndarray]:
    """Smooth swellings of the trunk."""
    x, y, z = vertices.T
    outward = np.stack([x, np.zeros_like(y), z], axis=1)
    outward /= np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-9)
    along = np.clip((np.abs(x) - TRUNK) / (BEYOND - TRUNK), 0, 1)
    trunk, front = 0.5 + 0.5 * np.cos(np.pi * along), np.clip(z / 0.12, 0, 1)

    def swelling(place: tuple[float, float], size: float, where: np.ndarray) -> np.ndarray:
        return (size * np.exp(-(((y - place[0]) / place[1]) ** 2)) * where)[:, None] * outward

    return {
        "belly": swelling(BELLY, 0.06, trunk * front),
        "hips": swelling(HIPS, 0.04, trunk),
        "bust": swelling(BUST, 0.04, trunk * front),
        "heavy": swelling(WHOLE, 0.03, trunk),
        "thin": swelling(WHOLE, -0.02, trunk),
    }
