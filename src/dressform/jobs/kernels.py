"""A small job that uses nearly every compiled kernel, so that each is there before it is needed."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shape_settings import ShapeSettings
from dressform.garment.garment import Garment
from dressform.jobs.check import check
from dressform.jobs.fit import fit
from dressform.jobs.prove import prove
from dressform.jobs.repair import repair

RINGS, SIDES = 26, 32
FEW_RINGS, FEW_SIDES = 24, 48
RADII = np.array([0.16, 0.85, 0.12])
"""Half width, half height and depth of the body, metres."""
UP = np.array([0.0, 1.0, 0.0])
ROOM = np.array([0.006, 0.0, 0.006])
"""Distance of the cloth around, metres: too little for what the morph does, so that there are faults to explain."""
SWELLING = 0.03
"""How far the morph moves the front, metres."""
HEIGHTS = (0.75, 1.05)
"""From where to where the cloth goes, metres."""


def use_kernels(*, repairs: bool = True) -> None:
    """Fit a tube to an egg, measure and explain its faults, and, where asked, repair and prove it.

    Kernels that are in no cache are compiled and kept there; others are loaded.
    """
    body = _egg()
    fitted = fit(body, _tube())
    check(fitted, shapes=ShapeSettings(strongest=0, sobol=0))
    if repairs:
        prove(repair(fitted).fit)


def _egg() -> Body:
    turn = np.linspace(0, np.pi, RINGS + 2)[1:-1]
    rings = _rings(np.sin(turn), -np.cos(turn), SIDES)
    points = np.vstack([rings, [[0.0, -1.0, 0.0], [0.0, 1.0, 0.0]]])
    around, last = np.arange(SIDES), (RINGS - 1) * SIDES
    after = (around + 1) % SIDES
    bottom, top = RINGS * SIDES, RINGS * SIDES + 1
    ends = [
        np.stack([np.full(SIDES, bottom), after, around], axis=1),
        np.stack([np.full(SIDES, top), last + around, last + after], axis=1),
    ]
    vertices = points * RADII + UP * RADII[1]
    front = np.exp(-np.square((vertices[:, 1] - 0.9) / 0.12)) * (vertices[:, 2] > 0)
    delta = (SWELLING * front)[:, None] * np.array([0.0, 0.0, 1.0])
    names = ("front",)
    return Body("egg", vertices, np.vstack([_walls(RINGS, SIDES), *ends]), names, delta[None], Range.unit(names))


def _tube() -> Garment:
    heights = np.linspace(*HEIGHTS, FEW_RINGS) / RADII[1] - 1.0
    points = _rings(np.sqrt(1 - heights**2), heights, FEW_SIDES) * (RADII + ROOM)
    return Garment.of("tube", points + UP * RADII[1], _walls(FEW_RINGS, FEW_SIDES))


def _rings(radii: np.ndarray, heights: np.ndarray, sides: int) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    across = np.stack([np.sin(turn), np.zeros(sides), np.cos(turn)], axis=1)
    return (radii[:, None, None] * across + heights[:, None, None] * UP).reshape(-1, 3)


def _walls(rings: int, sides: int) -> np.ndarray:
    low = (np.arange(rings - 1)[:, None] * sides + np.arange(sides)).ravel()
    after = (np.arange(rings - 1)[:, None] * sides + (np.arange(sides) + 1) % sides).ravel()
    return np.vstack(
        [np.stack([low, after, after + sides], axis=1), np.stack([low, after + sides, low + sides], axis=1)]
    )
