"""From tape measures to a shape: the reachable weights whose measures come nearest to the targets."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from scipy.optimize import lsq_linear

from dressform.arrays import Weights
from dressform.body.measure import MEASURE_NAMES, Measurer
from dressform.body.shapes import shape_at_base
from dressform.errors import ArgumentError

MET = 0.005
"""A measure is met when the tape reads this near to its target, metres: the precision of reading a tape."""
QUIET = 0.0005
"""How much of a miss, metres, one slider at its end is worth: of shapes that measure the same, the nearest to the base
is taken."""
STEP = 1e-3
"""Step of the numerical derivative, of a slider's range."""
MAX_ROUNDS = 20
ENOUGH = 1e-5
"""Rounds end when the sum of squared misses falls by no more than this share of itself plus a square millimetre."""
HALVINGS = 6
DECIMALS, COARSEST = 3, 0.1
"""Weights are given to so many decimals, where the range is at least so wide: girths change by a tenth of a mm."""


@dataclass(frozen=True)
class RequestedMeasure:
    """One requested measure.

    Attributes:
        name: Name of the measure.
        asked: The target, metres.
        got: The reading of the tape at the shape found, metres; None where it cannot be taken there.
        note: A caveat about this reading, or why there is none.
    """

    name: str
    asked: float
    got: float | None
    note: str

    @property
    def missed(self) -> float | None:
        """The reading minus the target, metres; None where the measure cannot be taken."""
        return None if self.got is None else self.got - self.asked

    @property
    def met(self) -> bool:
        """Whether the reading meets the target."""
        return self.missed is not None and abs(self.missed) <= MET


@dataclass(frozen=True)
class TapeFit:
    """The nearest reachable shape.

    Attributes:
        morph_names: The body's morphs, in its order.
        weights: The shape, within the range, (K,).
        rows: One per requested measure.
        rounds: Number of linearisations.
    """

    morph_names: tuple[str, ...]
    weights: Weights
    rows: tuple[RequestedMeasure, ...]
    rounds: int

    @property
    def met(self) -> bool:
        """Whether every measure meets its target."""
        return all(row.met for row in self.rows)


def fit_tape(
    measurer: Measurer, targets: Mapping[str, float], *, progress: Callable[[int, int], None] | None = None
) -> TapeFit:
    """Find the shape within the range whose measures come nearest to the targets, in the least-squares sense.

    The method is Gauss–Newton. In each round the measures are linearised in the weights by numerical derivatives, and
    the bounded least-squares problem is solved exactly. A pull towards the base, worth half a millimetre, decides
    between shapes that measure the same. The measures are not convex in the weights, so another shape may come nearer
    still; the rows give the remaining differences. A measure that cannot be taken of this body is left out, and its
    row says why.

    Args:
        measurer: Takes the measures of the body.
        targets: Metres by name of the measure; at least one.
        progress: Called after each round with its number and the greatest possible number.

    Raises:
        ArgumentError: no measure has that name (the valid ones are listed), a target is not positive, or there is none.

    Proof: tests/body/test_tape_fit.py::test_measures_of_a_shape_lead_back_to_shapes_that_measure_the_same
    """
    names = _checked(targets)
    box = measurer.body.range
    weights = shape_at_base(box).weights.copy()
    able = [row.name for row in measurer.taken(names, weights) if row.value is not None]
    weights, rounds = _nearest(measurer, able, {name: targets[name] for name in able}, weights, progress)
    weights = box.clip(np.where(box.widths > COARSEST, np.round(weights, DECIMALS), weights))
    rows = tuple(
        RequestedMeasure(row.name, targets[row.name], row.value, row.note) for row in measurer.taken(names, weights)
    )
    return TapeFit(box.names, weights, rows, rounds)


def _nearest(
    measurer: Measurer,
    names: Sequence[str],
    targets: Mapping[str, float],
    start: Weights,
    progress: Callable[[int, int], None] | None,
) -> tuple[Weights, int]:
    """The weights at which the cost is least, and the number of rounds."""
    box = measurer.body.range
    free = np.flatnonzero(box.widths > 0)
    wanted = np.array([targets[name] for name in names])
    weights, readings = start, _readings(measurer, names, start)
    pull = QUIET / np.maximum(np.abs(np.stack([box.low, box.high])).max(axis=0), np.finfo(float).tiny)
    for rounds in range(1, MAX_ROUNDS + 1):
        cost = _cost(readings - wanted, pull * weights)
        slopes = _slopes(measurer, names, weights, readings, free)
        step = np.zeros(len(weights))
        step[free] = _best_step(slopes, wanted - readings, weights[free], pull[free], box.low[free], box.high[free])
        moved, found = _line_search(measurer, names, weights, step, wanted, pull, cost)
        if progress is not None:
            progress(rounds, MAX_ROUNDS)
        if found is None:
            return weights, rounds
        weights, readings = moved, found
        if cost - _cost(readings - wanted, pull * weights) <= ENOUGH * (cost + 1e-6):
            return weights, rounds
    return weights, MAX_ROUNDS


def _checked(targets: Mapping[str, float]) -> tuple[str, ...]:
    """Names of the targets, in the order of the measures."""
    if not targets:
        raise ArgumentError.of("fit_tape", "targets", "at least one measure", "none", "Give for instance waist")
    for name, value in targets.items():
        if name not in MEASURE_NAMES:
            rule = f"among {', '.join(MEASURE_NAMES)}"
            raise ArgumentError.of("fit_tape", "targets", rule, repr(name), "Use one of these names")
        if not (np.isfinite(value) and value > 0):
            raise ArgumentError.of("fit_tape", name, "positive metres", f"{value:g}", "Give what the tape should read")
    return tuple(name for name in MEASURE_NAMES if name in targets)


def _readings(measurer: Measurer, names: Sequence[str], weights: Weights) -> Float[np.ndarray, " M"]:
    """The readings of the tape, metres; nan where a measure cannot be taken."""
    rows = measurer.taken(names, weights)
    return np.array([np.nan if row.value is None else row.value for row in rows])


def _cost(missed: Float[np.ndarray, " M"], pulled: Float[np.ndarray, " K"]) -> float:
    return float(missed @ missed + pulled @ pulled)


def _slopes(
    measurer: Measurer,
    names: Sequence[str],
    weights: Weights,
    readings: Float[np.ndarray, " M"],
    free: np.ndarray,
) -> Float[np.ndarray, "M F"]:
    """Change of every measure per unit of every free weight, by one-sided differences into the range."""
    box = measurer.body.range
    slopes = np.zeros((len(names), len(free)))
    for column, morph in enumerate(free):
        step = STEP * box.widths[morph]
        if weights[morph] + step > box.high[morph]:
            step = -step
        moved = weights.copy()
        moved[morph] += step
        slopes[:, column] = (_readings(measurer, names, moved) - readings) / step
    # A measure that cannot be taken beside this shape gives no direction.
    return np.nan_to_num(slopes)


def _best_step(
    slopes: Float[np.ndarray, "M F"],
    wanted: Float[np.ndarray, " M"],
    weights: Float[np.ndarray, " F"],
    pull: Float[np.ndarray, " F"],
    low: Float[np.ndarray, " F"],
    high: Float[np.ndarray, " F"],
) -> Float[np.ndarray, " F"]:
    """The step within the bounds that minimises the linearised differences plus the pull towards the base."""
    if not weights.size:
        return weights
    system = np.vstack([slopes, np.diag(pull)])
    right = np.concatenate([wanted, -pull * weights])
    margin = np.finfo(float).eps * (1 + np.abs(high) + np.abs(low))
    solved = lsq_linear(system, right, bounds=(low - weights - margin, high - weights + margin), method="bvls")
    return np.asarray(solved.x)


def _line_search(
    measurer: Measurer,
    names: Sequence[str],
    weights: Weights,
    step: Weights,
    wanted: Float[np.ndarray, " M"],
    pull: Weights,
    cost: float,
) -> tuple[Weights, Float[np.ndarray, " M"] | None]:
    """The step, halved until every measure can be taken and the cost falls; None where it never does."""
    for halving in range(HALVINGS):
        moved = weights + step / 2**halving
        readings = _readings(measurer, names, moved)
        if np.isfinite(readings).all() and _cost(readings - wanted, pull * moved) < cost:
            return moved, readings
    return weights, None
