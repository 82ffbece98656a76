"""What a repair cost: how far the cloth has moved, and whether it is rougher for it."""

from dataclasses import dataclass

import numpy as np

from dressform.arrays import Weights
from dressform.body.range import Range
from dressform.body.shapes import base_shape, distinct, end_shapes
from dressform.errors import MatchError
from dressform.faults.crumple import crumple_index, crumple_windows, measure_crumple
from dressform.fit.fit import Fit
from dressform.mesh.geometry import vertex_areas


@dataclass(frozen=True)
class Cost:
    """How two fits of one garment differ over the base shape and the ends of every morph's interval.

    Attributes:
        largest_move: Farthest that a cloth vertex lies from where it lay before, on any of these shapes, metres.
        rms_move: Root-mean-square by area of that distance, on the shape where it is largest, metres.
        crumple_before: 95th percentile of the crumple index, mean over these shapes, no unit.
        crumple_after: The same after the repair.
    """

    largest_move: float
    rms_move: float
    crumple_before: float
    crumple_after: float

    @property
    def crumple_ratio(self) -> float:
        """Crumple after over crumple before; 1 where there was none before and none came, else infinite."""
        if self.crumple_before > 0:
            return self.crumple_after / self.crumple_before
        return 1.0 if self.crumple_after == 0 else float("inf")


def shapes_of_cost(box: Range) -> list[Weights]:
    """The base shape and each morph alone at each end of its interval; a fit is affine between them."""
    return [shape.weights for shape in distinct([base_shape(box), *end_shapes(box)])]


def cost_of(before: Fit, after: Fit, box: Range) -> Cost:
    """The cost of turning one fit into another.

    Vertices that a repair added come after the old ones; they count for crumple and have no move.

    Args:
        before: The fit that was repaired.
        after: The repaired fit.
        box: The range.

    Raises:
        MatchError: the fits have other morphs, or `after` has fewer vertices.

    Proof: tests/repair/test_cost.py::test_a_shift_costs_its_length_and_no_crumple
    """
    count = len(before.base)
    if before.morph_names != after.morph_names or len(after.base) < count:
        raise MatchError(
            f"cost_of: `after` must have the {len(before.morph_names)} morphs and at least the {count} vertices of "
            f"`before`, got {len(after.morph_names)} and {len(after.base)}. Compare fits of one garment."
        )
    areas = vertex_areas(before.garment.vertices, before.garment.faces)
    shapes = shapes_of_cost(box)
    moves = np.array([np.linalg.norm(after.at(shape)[:count] - before.at(shape), axis=1) for shape in shapes])
    squares = (moves**2 @ areas) / max(float(areas.sum()), np.finfo(float).tiny)
    crumple = _crumple(before, shapes)
    return Cost(
        float(moves.max(initial=0.0)),
        float(np.sqrt(squares.max(initial=0.0))),
        crumple,
        crumple if after is before else _crumple(after, shapes),
    )


def _crumple(fit: Fit, shapes: list[Weights]) -> float:
    """Mean over the shapes of the 95th percentile of the crumple index against the fit's own garment."""
    windows = crumple_windows(fit.garment.vertices, fit.garment.faces)
    return float(np.mean([measure_crumple(windows, crumple_index(windows, fit.at(shape))).p95 for shape in shapes]))
