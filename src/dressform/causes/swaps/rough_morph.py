"""Rough morph: the swap takes the noise out of the body's morph, for the skin and for the cloth that follows it."""

import numpy as np

from dressform.arrays import BodyPoints
from dressform.causes.patch import Patch
from dressform.causes.roughness import MIN_NOISE

WORDS = "the noise of the body's morph smoothed away"
MUCH = 75.0
"""Noise dies down around the place where it is worst: so much of the skin may be even, per cent."""


def matters(patch: Patch) -> bool:
    """Whether one morph shifts a quarter of the skin under the cluster unevenly from vertex to vertex.

    The rims of rigid patches do not count: they are jumps, and another cause. Nor do bends as tight as a few edges.
    """
    if not patch.weights.any():
        return False
    under = under_patch(patch) & ~patch.context.rims
    if not under.any() or noise_of(patch, patch.context.body.deltas[0], under) <= MIN_NOISE:
        return False
    weights, deltas = patch.cluster.worst.weights, patch.worn.context.body.deltas
    return any(noise_of(patch, weights[k] * deltas[k], under) > MIN_NOISE for k in np.flatnonzero(weights))


def noise_of(patch: Patch, field: BodyPoints, under: np.ndarray, *, share: float = MUCH) -> float:
    """The noise that `share` per cent of some skin does not exceed, metres; 0 where the field bends but has none."""
    brush = patch.context.brush
    return float(np.percentile(brush.noise(field)[under], share)) if brush.is_noise(field, under) else 0.0


def under_patch(patch: Patch) -> np.ndarray:
    """Skin at the cluster and under its cloth, (B,)."""
    under = patch.skin.copy()
    under[patch.worn.foot_vertices[patch.vertices[patch.core]]] = True
    return under
