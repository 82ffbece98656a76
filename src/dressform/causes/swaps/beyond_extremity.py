"""Beyond an extremity: the swap lets cloth on fingers, toes or past the crown follow that part as a whole."""

from dataclasses import replace

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array

from dressform.causes.extremities import WholePiece
from dressform.causes.patch import Patch
from dressform.faults.graded.clearance import CLEARANCE
from dressform.faults.graded.crossing import CROSSING
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.folded import FOLDED
from dressform.faults.graded.inside import INSIDE
from dressform.faults.graded.layers import LAYERS
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.graded.stretch import STRETCH
from dressform.fit.fit import Fit

WORDS = "the cloth past the end of the limb follows that part of the body as a whole"
CURED = tuple(fault.key for fault in (EXPOSED, DEPTH, INSIDE, PUCKER, STRETCH, FOLDED, CROSSING, LAYERS, CLEARANCE))
"""Faults that this can cure."""


def matters(patch: Patch) -> bool:
    """Whether cloth at the cluster stands on very little skin, or on a finger or toe that moves by itself."""
    near = patch.vertices[patch.near]
    return patch.cluster.fault in CURED and any(bool(piece.core[near].any()) for piece in pieces(patch))


def pieces(patch: Patch) -> tuple[WholePiece, ...]:
    """The pieces of the garment that follow as a whole on the cluster's worst shape; none at the base."""
    return patch.worn.whole_on(patch.context) if patch.weights.any() else ()


def followed_whole(patch: Patch, fit: Fit, rows: csr_array) -> Fit:
    """The fit with every such piece in the patch moved by the similarity of its part of the body."""
    found = [piece for piece in pieces(patch) if piece.share[patch.vertices].any()]
    if not found:
        return fit
    weights: Float[np.ndarray, "P W"] = np.stack([rows @ piece.share[patch.vertices] for piece in found])
    weights /= np.maximum(weights.sum(axis=0), 1.0)
    deltas = fit.deltas * (1.0 - weights.sum(axis=0))[:, None]
    for share, piece in zip(weights, found):
        deltas = deltas + (share * fit.garment.strength)[:, None] * piece.motion.moves(fit.base)
    return replace(fit, deltas=deltas)
