"""A fit by a method that is no linear function of the weights: the cloth is known shape by shape.

It is a `Fit` all the same: its base and deltas are the best linear approximation, which is what shipping the method as
morph targets would play. `at` is the method's own word wherever it has given it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

import numpy as np
from jaxtyping import Float
from scipy.linalg import lstsq

from dressform.arrays import ClothDeltas, ClothPoints, Weights
from dressform.body.range import WeightsByName
from dressform.body.shapes import Shape
from dressform.body.stance import Stance
from dressform.fit.fit import Fit

Ask = Callable[[Weights, Stance | None], ClothPoints]
"""Asks the method where the cloth is, (G, 3), metres; at a stance only where the method poses the cloth itself."""
Word = tuple[Weights, ClothPoints]
"""A shape, and where the method says that the cloth is there."""


@dataclass(frozen=True, eq=False, repr=False)
class ShapedFit(Fit):
    """A fit known shape by shape.

    Attributes:
        told: What the method said at rest, by shape; see `shape_key`.
        told_posed: What it said at stances, by stance and shape.
        ask: Asks the method where it has not spoken yet; None where it cannot be asked, as in another process. The
            linear approximation then stands in.
        has_poses: Whether it poses the cloth itself; else joint weights do.
        fixed: The shapes that can be looked at, where these are all there are; None where any can.
    """

    told: dict[bytes, Word] = field(default_factory=dict)
    told_posed: dict[tuple[bytes, bytes], Word] = field(default_factory=dict)
    ask: Ask | None = None
    has_poses: bool = False
    fixed: tuple[Shape, ...] | None = None

    def __getstate__(self) -> dict[str, object]:
        """The state to pickle: another process cannot ask."""
        return {**self.__dict__, "ask": None}

    @property
    def is_linear(self) -> bool:
        """Never: what is linear is a plain `Fit`."""
        return False

    @property
    def poses_itself(self) -> bool:
        """Whether the method says where the cloth is at a stance."""
        return self.has_poses

    @property
    def linear(self) -> Fit:
        """The best linear approximation: what shipping it as morph targets would play."""
        return Fit(self.body, self.garment, self.following, self.base, self.deltas, self.skin)

    def at(self, weights: Weights | WeightsByName) -> ClothPoints:
        """Cloth vertices at `weights`, (G, 3): the method's word; its linear approximation where it cannot be asked.

        Raises:
            ArgumentError: as `Fit.at`.
            DressformError: the method failed when it was asked.
        """
        weights = self.body.range.vector("Fit.at", weights)
        known = self.told.get(shape_key(weights))
        if known is None and self.ask is None:
            return super().at(weights)
        if known is None:
            known = self.told[shape_key(weights)] = (weights, self._asked(weights, None))
        return known[1]

    def posed_at(self, weights: Weights, stance: Stance) -> ClothPoints | None:
        """Cloth vertices at a stance, (G, 3), where the method poses the cloth itself and can be asked; else None."""
        key = stance.worlds.tobytes(), shape_key(weights)
        known = self.told_posed.get(key)
        if known is None and (self.ask is None or not self.has_poses):
            return None
        if known is None:
            known = self.told_posed[key] = (weights, self._asked(weights, stance))
        return known[1]

    def learn(self, shapes: Iterable[Shape]) -> None:
        """Ask for shapes now, so that other processes know them."""
        for shape in shapes:
            self.at(shape.weights)
            if shape.stance is not None:
                self.posed_at(shape.weights, shape.stance)

    def departure(self, weights: Weights) -> Float[np.ndarray, " G"]:
        """How far the cloth is from its linear approximation, metres, (G,)."""
        return np.linalg.norm(self.at(weights) - super().at(weights), axis=1)

    def on(self, other: Fit, carry: Callable[[ClothPoints], ClothPoints]) -> "ShapedFit":
        """Another linear fit with this one's departures at the shapes that it knows.

        Args:
            other: The other fit, of the same body and perhaps of other vertices.
            carry: Carries a displacement per vertex to those.
        """
        told = {
            key: (weights, other.at(weights) + carry(points - super(ShapedFit, self).at(weights)))
            for key, (weights, points) in self.told.items()
        }
        return ShapedFit(other.body, other.garment, other.following, other.base, other.deltas, other.skin, told=told)

    def __repr__(self) -> str:
        """As of a fit, and at how many shapes it is known."""
        return f"{super().__repr__()[:-1]}, known at {len(self.told)} shapes>"

    def _asked(self, weights: Weights, stance: Stance | None) -> ClothPoints:
        assert self.ask is not None
        return np.array(self.ask(weights, stance), dtype=np.float64)


def shape_key(weights: Weights) -> bytes:
    """Tells a shape from all others: its weights to nine decimals."""
    return (np.round(np.asarray(weights, dtype=np.float64), 9) + 0.0).tobytes()


def best_linear(start: ClothPoints, words: Iterable[Word]) -> ClothDeltas:
    """The displacements per morph that come nearest to what a method said, by least squares, (K, G, 3), metres.

    Args:
        start: The cloth at weight 0, which stays as it is, (G, 3), metres.
        words: Shapes and the cloth there.

    Proof: tests/fit/test_shaped.py::test_a_linear_method_is_recovered_and_a_square_departs_as_it_must
    """
    shapes, moved = zip(*((weights, (points - start).ravel()) for weights, points in words))
    found = lstsq(np.array(shapes), np.array(moved))[0]
    return np.ascontiguousarray(found.reshape(len(shapes[0]), *start.shape))


def carried_to(fit: ShapedFit, there: Fit, stance: Stance, carry: Callable[[ClothPoints], ClothPoints]) -> ShapedFit:
    """A shaped fit at a stance: `there` is its linear approximation, carried there."""

    def ask(weights: Weights, _: Stance | None) -> ClothPoints:
        posed = fit.posed_at(weights, stance)
        return carry(fit.at(weights)) if posed is None else posed

    plain = replace(there, told={}, told_posed={}, ask=ask, has_poses=False) if isinstance(there, ShapedFit) else there
    assert isinstance(plain, ShapedFit)
    return plain
