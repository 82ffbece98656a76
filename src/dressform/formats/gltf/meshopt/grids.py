"""How coarsely base and targets may be rounded, so that no vertex is off by more than is allowed.

All begin on one grid. What that leaves of the allowance goes to the base, which needs least, then to one target after
the other, those that move most vertices first: a bit less of each.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Float

from dressform.formats.gltf.morphs.bound import farthest, reach_along

BASE_BITS = 3
"""The base begins so many powers of two finer than the targets: it is stored once, they many times."""
ROUNDED = 0.999
"""So much of the allowance is shared out; the rest is for what float32 loses beside."""


@dataclass(frozen=True)
class Grids:
    """Steps of coordinates, as powers of two of a metre.

    Attributes:
        exponent: Of targets.
        base: Of the base.
        targets: Of those targets that have another, by name.
    """

    exponent: int
    base: int
    targets: Mapping[str, int] = field(default_factory=dict)


def even_grids(exponent: int) -> Grids:
    """One grid for all targets, and a finer one for the base."""
    return Grids(exponent, exponent - BASE_BITS)


def choose_grids(
    base: Float[np.ndarray, "N 3"],
    deltas: Float[np.ndarray, "K N 3"],
    names: Sequence[str],
    ranges: Float[np.ndarray, "K 2"],
    *,
    exponent: int,
    allowed: float,
) -> Grids | None:
    """Grids at which no vertex is off by more than is allowed, None where rounding targets to `exponent` is too coarse.

    Args:
        base: Positions, (N, 3), metres.
        deltas: Displacement of each target at weight 1.
        names: Their names.
        ranges: The lowest and highest weight of each.
        exponent: The grid to begin with, as a power of two of a metre.
        allowed: How far a vertex may be off at any shape, metres.

    Proof: tests/formats/gltf/test_optimise.py
    """

    def lost_at_base(step: int) -> Float[np.ndarray, "D N"]:
        return reach_along(_lost(base, step), 1.0, 1.0)

    def lost_in(target: int, step: int) -> Float[np.ndarray, "D N"]:
        return reach_along(_lost(deltas[target], step), *ranges[target])

    finest = exponent - BASE_BITS
    along = sum((lost_in(target, exponent) for target in range(len(deltas))), start=lost_at_base(finest))
    if farthest(along).max(initial=0.0) > ROUNDED * allowed:
        return None
    held, told = finest, dict[str, int]()
    for step in (exponent - 2, exponent - 1):
        tried = along - lost_at_base(held) + lost_at_base(step)
        if farthest(tried).max(initial=0.0) <= ROUNDED * allowed:
            along, held = tried, step
    for target in sorted(range(len(deltas)), key=lambda target: -np.count_nonzero(deltas[target])):
        tried = along - lost_in(target, exponent) + lost_in(target, exponent + 1)
        if farthest(tried).max(initial=0.0) <= ROUNDED * allowed:
            along, told[names[target]] = tried, exponent + 1
    return Grids(exponent, held, told)


def _lost(values: Float[np.ndarray, "N 3"], exponent: int) -> Float[np.ndarray, "N 3"]:
    step = 2.0**exponent
    return np.rint(values / step) * step - values
