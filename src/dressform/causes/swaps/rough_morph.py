"""Rough morph: the swap takes the noise out of the body's morph, for the skin and for the cloth that follows it."""

import numpy as np

from dressform.arrays import VertexScalars
from dressform.causes.patch import Patch
from dressform.causes.roughness import MIN_NOISE

WORDS = "the noise of the body's morph smoothed away"
MUCH = 75.0
"""Noise dies down around the place where it is worst: so much of the skin may be even, per cent."""


def matters(patch: Patch) -> bool:
    """Whether one morph shifts a quarter of the skin under the cluster unevenly from vertex to vertex.

    The rims of rigid patches do not count: they are jumps, and another cause.
    """
    if not patch.weights.any():
        return False
    weights, body, context = patch.cluster.worst.weights, patch.worn.context.body, patch.context
    under = under_patch(patch) & ~context.rims
    if not under.any() or _rough(context.brush.noise(context.body.deltas[0])[under]) <= MIN_NOISE:
        return False
    noise = (weights[k] * context.brush.noise(body.deltas[k])[under] for k in np.flatnonzero(weights))
    return any(_rough(np.abs(one)) > MIN_NOISE for one in noise)


def _rough(noise: VertexScalars) -> float:
    """The noise that a quarter of some skin exceeds, metres."""
    return float(np.percentile(noise, MUCH))


def under_patch(patch: Patch) -> np.ndarray:
    """Skin at the cluster and under its cloth, (B,)."""
    under = patch.skin.copy()
    under[patch.worn.foot_vertices[patch.vertices[patch.core]]] = True
    return under
