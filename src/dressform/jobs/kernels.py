"""A small job that uses nearly every compiled kernel, so that each is there before it is needed."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import perf_counter

import numpy as np

import dressform
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shape_settings import ShapeSettings
from dressform.errors import DressformError
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.check import check
from dressform.jobs.fit import fit
from dressform.jobs.prove import prove
from dressform.jobs.repair import repair

CODE = f"from {__name__} import use_kernels; use_kernels({{}})"
"""What a process that compiles runs."""
HALVES = "checks=False", "repairs=False"
"""What each of two processes that compile leaves to the other."""
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


def compile_kernels() -> tuple[int, float]:
    """Compile what no cache has yet, in two processes that share one cache: how many kernels were kept, and seconds.

    Raises:
        DressformError: a process failed, or what is compiled can be kept nowhere.
    """
    start, before = perf_counter(), _kept()
    started = [subprocess.Popen([sys.executable, "-c", CODE.format(half)]) for half in HALVES]
    try:
        if any([one.wait() for one in started]):
            raise DressformError("warm: a process that compiles failed; what it said stands above.")
    finally:
        for one in started:
            one.kill()
    after = _kept()
    if not after:
        raise DressformError(
            f"warm: {Path(dressform.__file__).parent} must be writable, or NUMBA_CACHE_DIR name a folder that is. "
            "Nothing that was compiled could be kept."
        )
    return after - before, perf_counter() - start


def _kept() -> int:
    """How many compiled kernels the cache holds."""
    places = [Path(dressform.__file__).parent, *map(Path, filter(None, [os.environ.get("NUMBA_CACHE_DIR")]))]
    return sum(1 for place in places for _ in place.rglob("*.nbc"))


def use_kernels(*, checks: bool = True, repairs: bool = True) -> None:
    """Fit a tube to an egg; then measure and explain its faults, repair and prove it, as far as asked.

    Kernels that are in no cache are compiled and kept there; others are loaded. A process that only repairs begins with
    what no fit needs, so that it does not wait for another one that fits.
    """
    if not checks:
        prove(_still(_egg(), _tube()))
    fitted = fit(_egg(), _tube())
    if checks:
        check(fitted, shapes=ShapeSettings(strongest=0, sobol=0))
    if repairs:
        prove(repair(fitted).fit)


@contextmanager
def compiling() -> Iterator[None]:
    """In this context another process compiles; it is ended with it, as what is not compiled yet may not be needed."""
    other = subprocess.Popen([sys.executable, "-c", CODE.format("")], stderr=subprocess.DEVNULL)
    try:
        yield
    finally:
        other.kill()
        other.wait()


def _still(body: Body, garment: Garment) -> Fit:
    """The garment as no morph moves it."""
    deltas = np.zeros((len(body.morph_names), *garment.vertices.shape))
    return Fit(body, garment, Following(), garment.vertices, deltas)


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
