"""The declared box of weights that a wearer may reach."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float
from numpy.typing import ArrayLike

from dressform.arrays import Weights
from dressform.calls import quoted, refuse_misfit
from dressform.errors import ArgumentError
from dressform.mesh.flat import read_only

DEFAULT_LOW = 0.0
DEFAULT_HIGH = 1.0
SHOWN = 4
"""So many intervals are printed."""
RANGE_SLACK = 1e-12

FARTHEST_OUTSIDE = 10.0
"""A weight farther outside its interval than this many times the interval's width, or 1, is no shape that is meant."""
LARGEST_WEIGHT = 1e6
"""Beyond this no position can be computed any more; sliders that count in percent stay far below."""

WeightsByName = Mapping[str, float | int]
"""Weights by the name of their morph; those that are not named are 0."""


def checked_weights(function: str, weights: ArrayLike, count: int) -> Weights:
    """The weights as an array, checked to be numbers, one per morph.

    Raises:
        ArgumentError: not one number for each of `count` morphs, or one that is not finite or beyond ±`LARGEST_WEIGHT`.
    """
    rule = f"one number for each of {count} morphs, or numbers by the name of a morph"
    wrong = ArgumentError.of(function, "weights", rule, quoted(weights), "Give a shape")
    if isinstance(weights, list | tuple) and any(isinstance(one, bool | str) for one in weights):
        raise wrong
    try:
        found = np.asarray(weights)
    except ValueError:
        raise wrong from None
    if found.size and found.dtype.kind not in "iuf":
        raise wrong
    vector = found.astype(np.float64)
    if vector.shape != (count,):
        rule = f"one number for each of {count} morphs"
        raise ArgumentError.of(
            function, "weights", rule, f"an array of shape {vector.shape}", "Give one shape at a time"
        )
    if not np.abs(vector).max(initial=0.0) <= LARGEST_WEIGHT:
        at = int(np.flatnonzero(~(np.abs(vector) <= LARGEST_WEIGHT))[0])
        rule = f"finite and within ±{LARGEST_WEIGHT:g}"
        raise ArgumentError.of(function, "weights", rule, f"{vector[at]:g} for morph {at}", "Correct this weight")
    return vector


@dataclass(frozen=True, repr=False)
class Range:
    """One closed interval of weights per morph, in the body's morph order.

    Attributes:
        names: Morph names.
        low: Smallest weight of each morph, (K,).
        high: Largest weight of each morph, (K,).

    Raises:
        ArgumentError: counts differ, a bound is not finite or beyond ±`LARGEST_WEIGHT`, or `low` exceeds `high`; the
            morph is named.
    """

    names: tuple[str, ...]
    low: Weights
    high: Weights

    def __post_init__(self) -> None:
        refuse_misfit("Range", "names", self.names, tuple[str, ...])
        object.__setattr__(self, "names", tuple(self.names))
        twice = next((name for at, name in enumerate(self.names) if name in self.names[:at]), None)
        if twice is not None:
            raise ArgumentError.of("Range", "names", "each another", f"{twice!r} twice", "Rename one of the morphs")
        for end in ("low", "high"):
            object.__setattr__(self, end, read_only("Range", end, getattr(self, end), ("K",)))
        if not len(self.names) == self.low.size == self.high.size:
            raise ArgumentError.of(
                "Range",
                "low/high",
                f"one value for each of {len(self.names)} morphs",
                f"{self.low.size} and {self.high.size}",
                "Give every morph of the body an interval",
            )
        for name, low, high in zip(self.names, self.low, self.high):
            if not -LARGEST_WEIGHT <= low <= high <= LARGEST_WEIGHT:
                raise ArgumentError.of(
                    "Range",
                    name,
                    f"a finite interval within ±{LARGEST_WEIGHT:g} with low ≤ high",
                    f"[{low:g}, {high:g}]",
                    "Correct the interval of this morph",
                )

    @classmethod
    def unit(cls, names: tuple[str, ...]) -> "Range":
        """Every morph in [0, 1], the range of a body that declares none."""
        return cls(names, np.full(len(names), DEFAULT_LOW), np.full(len(names), DEFAULT_HIGH))

    def __repr__(self) -> str:
        """The first intervals by morph."""
        shown = [f"{name} {low:g} to {high:g}" for name, low, high in zip(self.names[:SHOWN], self.low, self.high)]
        more = [f"{len(self.names) - SHOWN} more"] if len(self.names) > SHOWN else []
        return f"<Range: {', '.join(shown + more) or 'no morphs'}>"

    @property
    def widths(self) -> Weights:
        """Length of each interval, (K,)."""
        return self.high - self.low

    def contains(self, weights: Weights, *, slack: float = RANGE_SLACK) -> bool:
        """Whether every weight lies in its interval, up to `slack`."""
        return bool(np.all(weights >= self.low - slack) and np.all(weights <= self.high + slack))

    def outside(self, weights: ArrayLike | WeightsByName) -> tuple[str, ...]:
        """One sentence for each weight outside its interval: `belly=1.5 lies outside the range [0, 1] …`."""
        vector = self.vector("Range.outside", weights)
        return tuple(
            f"{name}={weight:g} lies outside the range [{low:g}, {high:g}] that a wearer may reach."
            for name, weight, low, high in zip(self.names, vector, self.low, self.high)
            if not low - RANGE_SLACK <= weight <= high + RANGE_SLACK
        )

    def vector(self, function: str, weights: ArrayLike | WeightsByName, *, argument: str = "weights") -> Weights:
        """Weights as somebody wrote them, as an array, (K,): in the order of the morphs, or by name, the others 0.

        Raises:
            ArgumentError: a name is no morph (the valid ones are listed), a weight is no finite number or lies absurdly
                far outside its interval, or there is not one for each morph.
        """
        if not isinstance(weights, Mapping):
            vector = checked_weights(function, weights, len(self.names))
        else:
            unknown = next((name for name in weights if name not in self.names), None)
            if unknown is not None:
                rule = f"names of morphs: {', '.join(self.names) or 'the body has none'}"
                raise ArgumentError.of(function, argument, rule, repr(unknown), "Use one of these names")
            vector = checked_weights(function, [weights.get(name, 0.0) for name in self.names], len(self.names))
        self.refuse_absurd(function, vector, argument=argument)
        return vector

    def refuse_absurd(self, function: str, weights: Weights, *, argument: str = "weights") -> None:
        """Refuse weights too far out to be intended; see `FARTHEST_OUTSIDE`.

        Raises:
            ArgumentError: a weight is not finite, or lies absurdly far outside its interval; it is named.
        """
        reach = FARTHEST_OUTSIDE * np.maximum(self.widths, 1.0)
        within = (self.low - reach <= weights) & (weights <= self.high + reach)
        for at in np.flatnonzero(~within)[:1]:
            name, weight, low, high = self.names[at], weights[at], self.low[at], self.high[at]
            ends = f"{low - reach[at]:g} and {high + reach[at]:g}"
            rule = f"between {ends} for {name}, whose range is [{low:g}, {high:g}]"
            raise ArgumentError.of(function, argument, rule, f"{weight:g}", "Give a weight in or near its range")

    def with_base(self) -> "Range":
        """The smallest range that holds this one and the base body."""
        return Range(self.names, np.minimum(self.low, 0.0), np.maximum(self.high, 0.0))

    def clip(self, weights: Weights) -> Weights:
        """The nearest weights inside the box, (K,)."""
        return np.clip(weights, self.low, self.high)

    def minimum(self, base: Float[np.ndarray, " N"], slopes: Float[np.ndarray, "K N"]) -> Float[np.ndarray, " N"]:
        """Exact minimum over the box of N affine functions `base + weights @ slopes`.

        The weights are separable, so the minimum is base + Σ_k min(low_k s_k, high_k s_k); no corner is visited.
        """
        return base + np.minimum(self.low[:, None] * slopes, self.high[:, None] * slopes).sum(axis=0)

    def minimiser(self, slopes: Float[np.ndarray, "K N"]) -> Bool[np.ndarray, "N K"]:
        """For each of N affine functions, which weights sit at `high` where the function is smallest, (N, K)."""
        return (self.high[:, None] * slopes < self.low[:, None] * slopes).T
