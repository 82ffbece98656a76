"""The cost of a repair: how far the cloth moved, and whether it became rougher."""

from dataclasses import dataclass

import numpy as np

from dressform.arrays import Weights
from dressform.body.range import Range
from dressform.body.shapes import distinct, end_shapes, shape_at_base
from dressform.errors import MatchError
from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows
from dressform.fit.fit import Fit
from dressform.mesh.geometry import vertex_areas


@dataclass(frozen=True)
class Cost:
    """How two fits of one garment differ over the base body and the ends of every morph's interval.

    Attributes:
        largest_move: Farthest that a cloth vertex lies from where it lay before, on any of these shapes, metres.
        base_move: The same at the base alone, metres.
        rms_move: Root-mean-square by area of that distance, on the shape where it is largest, metres.
        pucker_before: 95th percentile of the pucker index, mean over these shapes, no unit; 0 if too coarse to tell.
        pucker_after: The same after the repair.
    """

    largest_move: float
    base_move: float
    rms_move: float
    pucker_before: float
    pucker_after: float

    @property
    def pucker_ratio(self) -> float:
        """Pucker after over pucker before. Without pucker before, 1 if there is none after, else infinite."""
        if self.pucker_before > 0:
            return self.pucker_after / self.pucker_before
        return 1.0 if self.pucker_after == 0 else float("inf")


def shapes_of_cost(box: Range) -> list[Weights]:
    """The base body and each morph alone at each end of its interval; a fit is affine between them."""
    return [shape.weights for shape in distinct([shape_at_base(box), *end_shapes(box)])]


def cost_of(before: Fit, after: Fit, *, box: Range | None = None) -> Cost:
    """The cost of turning one fit into another.

    Vertices that a repair added come after the old ones; they count for pucker and have no move.

    Args:
        before: The fit that was repaired.
        after: The repaired fit.
        box: The range, by default the body's.

    Raises:
        MatchError: the fits have other morphs, or `after` has fewer vertices.

    Proof: tests/repair/test_cost.py::test_a_shift_costs_its_length_and_no_pucker
    """
    count = len(before.base)
    if before.morph_names != after.morph_names or len(after.base) < count:
        raise MatchError(
            f"cost_of: `after` must have the {len(before.morph_names)} morphs and at least the {count} vertices of "
            f"`before`, got {len(after.morph_names)} and {len(after.base)}. Compare fits of one garment."
        )
    areas = vertex_areas(before.garment.vertices, before.garment.faces)
    shapes = shapes_of_cost(before.body.range if box is None else box)
    moves = np.array([np.linalg.norm(after.at(shape)[:count] - before.at(shape), axis=1) for shape in shapes])
    squares = (moves**2 @ areas) / max(float(areas.sum()), np.finfo(float).tiny)
    pucker = _pucker(before, shapes)
    return Cost(
        float(moves.max(initial=0.0)),
        float(np.linalg.norm(after.base[:count] - before.base, axis=1).max(initial=0.0)),
        float(np.sqrt(squares.max(initial=0.0))),
        pucker,
        pucker if after is before else _pucker(after, shapes),
    )


def _pucker(fit: Fit, shapes: list[Weights]) -> float:
    """Mean over the shapes of the 95th percentile of the pucker index against the fit's own garment."""
    windows = pucker_windows(fit.garment.vertices, fit.garment.faces)
    found = [measure_pucker(windows, pucker_index(windows, fit.at(shape))) for shape in shapes]
    return float(np.mean([one.p95 if one.is_told else 0.0 for one in found]))
