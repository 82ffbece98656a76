"""Rough morph: the swap takes the noise out of the body's morph, for the skin and for the cloth that follows it."""

import numpy as np

from dressform.causes.patch import Patch
from dressform.causes.roughness import MIN_NOISE

WORDS = "the noise of the body's morph smoothed away"
REACH = 0.05
"""Skin within this of the cluster tells whether the morph is rough there, metres."""


def matters(patch: Patch) -> bool:
    """Whether one morph shifts most of the skin under the cluster unevenly from vertex to vertex."""
    if not patch.weights.any() or level(patch) <= MIN_NOISE:
        return False
    weights, under = patch.cluster.worst.weights, under_patch(patch)
    deltas = patch.worn.context.body.deltas
    noise = (weights[k] * patch.context.brush.noise(deltas[k])[under] for k in np.flatnonzero(weights))
    return any(float(np.median(np.abs(one))) > MIN_NOISE for one in noise)


def level(patch: Patch) -> float:
    """Median over the skin around the cluster of how far its vertices are shifted against their neighbours, metres.

    A median, so that the rim of a rigid patch, which is a line, is no noise.
    """
    context = patch.context
    under = under_patch(patch)
    return float(np.median(context.brush.noise(context.body.deltas[0])[under])) if under.any() else 0.0


def under_patch(patch: Patch) -> np.ndarray:
    """Skin at the cluster and under its cloth, (B,)."""
    under = patch.skin.copy()
    under[patch.worn.foot_vertices[patch.vertices[patch.core]]] = True
    return under
