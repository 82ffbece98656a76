"""What every certificate has: the pairs that had to be decided, and which of them are proven apart."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int


@dataclass(frozen=True, eq=False)
class Decision:
    """Near pairs over a range of shapes, and what is proven of them.

    Attributes:
        margin: The requested gap, metres.
        slack: What was demanded on top, for rounding in float32 files and engines, metres.
        pairs: Near pairs (cloth face, body face) that the proof had to decide, (P, 2).
        bounds: Proven lower bound of the gap of each over the undivided range, (P,), metres.
        certified: Whether the pair is proven to keep the requested gap, (P,).
        split: Whether that took dividing the range, (P,).
    """

    margin: float
    slack: float
    pairs: Int[np.ndarray, "P 2"]
    bounds: Float[np.ndarray, " P"]
    certified: Bool[np.ndarray, " P"]
    split: Bool[np.ndarray, " P"]

    @property
    def open_pairs(self) -> Int[np.ndarray, "N 2"]:
        """Pairs that are not certified, (N, 2)."""
        return self.pairs[~self.certified]

    def share_of(self, *, of_nothing: float) -> float:
        """Share of the near pairs that is certified; `of_nothing` where there are none."""
        return float(self.certified.mean()) if len(self.pairs) else of_nothing
