"""The worst shapes of a method that is no linear function of the weights: searched by asking it.

The threat of a shape is that of `worst.py`, with the cloth where the method says it is. No closed form leads to its
maximum, which need not lie at a corner. So the search starts from the corners that are worst for the linear
approximation and from all shapes that the method was asked about, and moves one weight at a time to either end, the
middle or zero, as long as that adds to the threat and the method has not been asked too often.
"""

from collections.abc import Iterator

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.range import Range
from dressform.body.shapes import Shape
from dressform.fit.fit import Fit
from dressform.fit.shaped import ShapedFit, shape_key
from dressform.mesh.geometry import vertex_areas
from dressform.sweep.worst import DEFAULT_WORST, MIN_GAIN, REACH, Pairs, Threat, paired, worst_shapes

LED = 2
"""From so many of the best starts weights are moved."""
ASKED = 96
"""The method is asked at most so often beyond its starts."""


def worst_of(fit: Fit, *, most: int = DEFAULT_WORST) -> list[Threat]:
    """The worst shapes of a fit: in closed form where it is linear, else by a search. As `worst_shapes`."""
    return searched_shapes(fit, most=most) if isinstance(fit, ShapedFit) else worst_shapes(fit, most=most)


def searched_shapes(fit: ShapedFit, *, most: int = DEFAULT_WORST, asked: int = ASKED) -> list[Threat]:
    """The shapes at which a method threatens the most covered skin, the gravest first, as far as a search finds them.

    Args:
        fit: What the method said so far; where it can be asked, it is asked on.
        most: Most shapes to return.
        asked: How often the method may be asked.

    Proof: tests/sweep/test_worst_asked.py::test_the_search_finds_a_worst_shape_inside_the_range
    """
    if most < 1 or not fit.morph_names:
        return []
    search = _Search(fit)
    box = fit.body.range
    starts = [threat.shape.weights for threat in worst_shapes(fit.linear, most=most)]
    starts += [weights for weights, _ in list(fit.told.values())]
    for weights in starts:
        search.threat(weights)
    left = asked if fit.ask is not None else 0
    for lead in search.ranked()[:LED]:
        left = _climb(search, box, lead, left)
    return search.told(most)


def _climb(search: "_Search", box: Range, start: Weights, left: int) -> int:
    """Move one weight at a time while that adds; returns how often the method may still be asked."""
    best, moved = start, True
    while moved and left > 0:
        moved = False
        for weights in _moves(box, best):
            if left <= 0:
                break
            left -= not search.knows(weights)
            if search.threat(weights) > search.threat(best):
                best, moved = weights, True
    return left


def _moves(box: Range, weights: Weights) -> Iterator[Weights]:
    """The same with one weight at either end, in the middle, or at zero."""
    for morph in range(len(box.names)):
        low, high = float(box.low[morph]), float(box.high[morph])
        for value in dict.fromkeys((high, low, (low + high) / 2, min(max(0.0, low), high))):
            if value != weights[morph]:
                moved = weights.copy()
                moved[morph] = value
                yield moved


class _Search:
    """Threats of the shapes that were asked about; the pairs of skin and cloth are those of the base."""

    def __init__(self, fit: ShapedFit) -> None:
        body = fit.body
        self._fit = fit
        self._pairs: Pairs = paired(body, body.vertices, fit.garment.faces, fit.base, REACH)
        self._areas = vertex_areas(body.vertices, body.faces)[self._pairs.skin]
        start = self._clearance(np.zeros(len(body.morph_names)))
        self._allowed = np.minimum(fit.following.margin, start)
        self._found: dict[bytes, tuple[float, Weights]] = {}

    def knows(self, weights: Weights) -> bool:
        """Whether the method has spoken there."""
        return shape_key(weights) in self._fit.told

    def threat(self, weights: Weights) -> float:
        """Area times depth under the margin, m³."""
        key = shape_key(weights)
        if key not in self._found:
            short = np.maximum(self._allowed - self._clearance(weights), 0.0)
            self._found[key] = float(short @ self._areas), weights
        return self._found[key][0]

    def ranked(self) -> list[Weights]:
        """Shapes by falling threat."""
        return [weights for _, weights in sorted(self._found.values(), key=lambda one: -one[0])]

    def told(self, most: int) -> list[Threat]:
        """The gravest shapes that each add to the threat of those before them."""
        reached, total, chosen = np.zeros(len(self._areas)), 0.0, list[Threat]()
        for weights in self.ranked():
            clearance = self._clearance(weights)
            gain = float(np.maximum(self._allowed - clearance - reached, 0.0) @ self._areas)
            total += gain
            if len(chosen) < most and (not chosen or gain > MIN_GAIN * total):
                reached = np.maximum(reached, self._allowed - clearance)
                chosen.append(self._as_threat(len(chosen) + 1, weights, clearance))
        return chosen

    def _as_threat(self, number: int, weights: Weights, clearance: Float[np.ndarray, " N"]) -> Threat:
        short = clearance < self._allowed
        least = clearance[short] if short.any() else clearance
        return Threat(
            Shape(f"worst {number}", weights), float(least.min(initial=np.inf)), float(self._areas[short].sum())
        )

    def _clearance(self, weights: Weights) -> Float[np.ndarray, " N"]:
        return self._pairs.along(self._fit.at(weights), self._fit.body.at(weights))
