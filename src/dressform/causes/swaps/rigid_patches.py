"""The body's morph moves a rigid patch: the swap lets the cloth follow the morph without the jump at the rim."""

import numpy as np
from jaxtyping import Float

from dressform.causes.patch import Patch

WORDS = "the rigid patches of the body's morph smoothed for this garment"
MIN_CHANGE = 0.0005
"""Skin that the smoothing moves by less is not a rigid patch's, metres."""


def matters(patch: Patch) -> bool:
    """Whether the smoothed morph differs from the original under the cluster."""
    change = np.linalg.norm(calm(patch) - patch.context.body.deltas[0], axis=1)
    feet = patch.worn.foot_vertices[patch.vertices[patch.near]]
    return bool(patch.weights.any() and change[feet].max(initial=0.0) > MIN_CHANGE)


def calm(patch: Patch) -> Float[np.ndarray, "B 3"]:
    """How the body moves to the cluster's worst shape with its rigid patches smoothed, metres."""
    return patch.context.calm
