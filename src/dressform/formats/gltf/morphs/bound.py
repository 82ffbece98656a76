"""How far an error at the base and in each target can bring a vertex, over all weights of a range."""

import numpy as np
from jaxtyping import Float


def bound_over_range(
    base: Float[np.ndarray, "N 3"], deltas: Float[np.ndarray, "K N 3"], ranges: Float[np.ndarray, "K 2"]
) -> float:
    """The farthest that base + Σ w_k delta_k can bring any vertex, from above, for weights within their ranges.

    Each coordinate is affine in the weights, so its ends over the box are exact; a vertex is no farther than the
    diagonal of the box of its coordinates.

    Proof: tests/formats/gltf/test_optimise.py
    """
    low, high = base.copy(), base.copy()
    for delta, (start, end) in zip(deltas, ranges):
        low += np.minimum(start * delta, end * delta)
        high += np.maximum(start * delta, end * delta)
    return float(np.linalg.norm(np.maximum(-low, high), axis=1).max(initial=0.0))
