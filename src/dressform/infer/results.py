"""Results about the shape that a garment was modelled on, as frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Float

from dressform.arrays import BodyPoints, Weights
from dressform.body.body import Body
from dressform.body.range import Range

FINE = "fine"
TIGHT = "cut too tight"
CUT_LOOSE = "cut loose"
OTHER_SHAPE = "modelled on another body shape"
OTHER_BASE = "modelled on another base body"
VERDICTS = (FINE, TIGHT, CUT_LOOSE, OTHER_SHAPE, OTHER_BASE)

TOLD_SPREAD = 0.1  # the garment determines a direction whose spread is at most this
SILENT_SHARE = 0.8  # of the prior spread; the garment does not determine a weight that keeps at least this share
TWO_SIDED = 1.96  # standard deviations on either side that hold 95 % of a normal variable
CARRY = "modelled on"  # name of the only morph of the body that a garment is carried back with


@dataclass(frozen=True)
class Direction:
    """A mix of weights, perpendicular to all other directions.

    Attributes:
        mix: Unit vector over the weights, (K,).
        spread: Standard deviation of the shape along it.
        told: Whether the garment determines where along it the shape lies: spread at most `TOLD_SPREAD`.
    """

    mix: Weights
    spread: float
    told: bool


@dataclass(frozen=True)
class InferredShape:
    """The shapes that a garment may have been modelled on: a set, since a bigger body and more ease look alike.

    Attributes:
        body: Name of the base body that the garment is meant for.
        base: Name of the base body whose shape it was modelled on; the weights belong to its morphs.
        weights: The likeliest weights in the range, (K,). Weights that the garment does not determine stay near 0.
        centre: Middle of the set's ellipsoid, (K,). It may lie outside the range.
        information: Inverse of the covariance, (K, K).
        reach: The set holds the shapes of the range whose squared distance from `centre`, by `information`, exceeds
            that of `weights` by at most this.
        prior: Standard deviation of each weight before the garment was seen, (K,).
        range: The weights that a wearer may reach, with the base.
        verdict: One of `VERDICTS`.
        sentence: The verdict with its figures.
        evidence: Figures behind it, by name, in metres where the name says so, else without a unit.
        shape: Skin of the likeliest shape, (B, 3), metres.
    """

    body: str
    base: str
    weights: Weights
    centre: Weights
    information: Float[np.ndarray, "K K"]
    reach: float
    prior: Weights
    range: Range
    verdict: str
    sentence: str
    evidence: Mapping[str, float]
    shape: BodyPoints

    @cached_property
    def spread(self) -> Weights:
        """Standard deviation of each weight by itself, (K,)."""
        return np.sqrt(np.diag(np.linalg.inv(self.information)))

    @property
    def low(self) -> Weights:
        """Lower end of the 95 % interval of each weight by itself, in the range, (K,)."""
        return self.range.clip(self.weights - TWO_SIDED * self.spread)

    @property
    def high(self) -> Weights:
        """Upper end of the 95 % interval of each weight by itself, in the range, (K,)."""
        return self.range.clip(self.weights + TWO_SIDED * self.spread)

    @property
    def silent(self) -> tuple[str, ...]:
        """Morphs whose weights the garment does not determine."""
        kept = self.spread >= SILENT_SHARE * self.prior
        return tuple(name for name, still in zip(self.range.names, kept) if still)

    @property
    def directions(self) -> tuple[Direction, ...]:
        """Mixes of weights that are perpendicular to each other, the best determined first."""
        values, mixes = np.linalg.eigh(self.information)
        spreads = 1.0 / np.sqrt(values[::-1])
        return tuple(
            Direction(mix, float(spread), bool(spread <= TOLD_SPREAD)) for mix, spread in zip(mixes.T[::-1], spreads)
        )

    def excess(self, weights: Weights) -> float:
        """How much less likely other weights of `base` are: minus twice the log of the ratio, 0 at `weights`."""
        here, there = self.weights - self.centre, weights - self.centre
        return float(there @ self.information @ there - here @ self.information @ here)

    def holds(self, weights: Weights) -> bool:
        """Whether a shape of `base` lies in the set."""
        return self.range.contains(weights) and self.excess(weights) <= self.reach

    def way_back(self, body: Body) -> tuple[Body, Weights]:
        """Body and weights with which `rebase` carries the garment from the likeliest shape to the base of `body`.

        This works for any base that it was modelled on: `shape, weights = found.way_back(body)`, then
        `rebase(shape, garment, weights)`. The returned body has one morph, which gives the likeliest shape at weight 1.
        """
        only = (CARRY,)
        way = (self.shape - body.vertices)[None]
        return Body(body.name, body.vertices, body.faces, only, way, Range.unit(only)), np.ones(1)
