"""Live following: the cloth at a shape from one matrix product, in the precision that engines draw with."""

import numpy as np
from jaxtyping import Float, Float32
from scipy.linalg.blas import saxpy, sgemv

from dressform.arrays import Points, Weights
from dressform.body.body import Body
from dressform.body.range import checked_weights
from dressform.errors import MatchError
from dressform.fit.fit import Fit
from dressform.fit.shaped import ShapedFit

FEW = 0.2  # up to this share of active morphs, adding them one by one reads less than the whole product


class Follower:
    """A fit laid out for speed: float32, all morphs side by side in one block of memory.

    Agrees with `Fit.at` to 1e-5 m. Holds its own copies; a fit that is changed later needs a new follower.

    Proof: tests/fit/test_follow.py::test_live_following_agrees_with_the_fit_over_a_thousand_shapes
    """

    def __init__(self, fit: Fit) -> None:
        self._lay_out(fit.base, fit.deltas)

    @classmethod
    def of_body(cls, body: Body) -> "Follower":
        """A follower of the body itself, which is linear in its weights too."""
        made = cls.__new__(cls)
        made._lay_out(body.vertices, body.deltas)
        return made

    def _lay_out(self, base: Points, deltas: Float[np.ndarray, "K V 3"]) -> None:
        self._base = base.astype(np.float32).ravel()
        self._deltas = deltas.astype(np.float32).reshape(len(deltas), base.size)

    @property
    def bytes_per_shape(self) -> int:
        """Bytes read and written for one shape with every morph active; divided by bandwidth, its least time."""
        return self._deltas.nbytes + 2 * self._base.nbytes

    def at(self, weights: Weights) -> Float32[np.ndarray, "G 3"]:
        """Cloth vertices at `weights`, (G, 3), metres.

        Raises:
            MatchError: not one weight per morph.
            ArgumentError: a weight is not finite.
        """
        self._match(len(weights))
        weights = checked_weights("Follower.at", weights, len(self._deltas))
        cloth = self._base.copy()
        active = np.flatnonzero(weights)
        if active.size <= FEW * len(self._deltas):
            for morph in active:
                saxpy(self._deltas[morph], cloth, a=weights[morph])
        else:
            # The transpose is a view that BLAS reads column by column: every delta once, in order.
            sgemv(1.0, self._deltas.T, weights.astype(np.float32), beta=1.0, y=cloth, overwrite_y=True)
        return cloth.reshape(-1, 3)

    def many(self, weights: Float[np.ndarray, "N K"]) -> Float32[np.ndarray, "N G 3"]:
        """Cloth vertices at many shapes, (N, G, 3), metres, by one matrix product.

        Raises:
            MatchError: not one weight per morph.
        """
        self._match(weights.shape[1])
        cloth = weights.astype(np.float32) @ self._deltas
        cloth += self._base
        return cloth.reshape(len(weights), -1, 3)

    def _match(self, count: int) -> None:
        """Refuse weights of another body."""
        if count != len(self._deltas):
            raise MatchError(
                f"Follower: `weights` must have one weight for each of {len(self._deltas)} morphs, got {count}. "
                "Use the body that the fit was made for."
            )


class AskingFollower(Follower):
    """Follows a method that is no linear function of the weights: it is asked at each shape."""

    def __init__(self, fit: ShapedFit) -> None:
        super().__init__(fit.linear)
        self._fit = fit

    def at(self, weights: Weights) -> Float32[np.ndarray, "G 3"]:
        """Cloth vertices at `weights`, (G, 3), metres; raises as `Follower.at`, and what the method does."""
        self._match(len(weights))
        return self._fit.at(weights).astype(np.float32)

    def many(self, weights: Float[np.ndarray, "N K"]) -> Float32[np.ndarray, "N G 3"]:
        """Cloth vertices at many shapes, (N, G, 3), metres."""
        return np.array([self.at(one) for one in weights]).reshape(len(weights), -1, 3)


def follower_of(fit: Fit) -> Follower:
    """What follows a fit live."""
    return AskingFollower(fit) if isinstance(fit, ShapedFit) else Follower(fit)
