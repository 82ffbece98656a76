"""Beyond an extremity: cloth past fingertips, toes or crown follows hand, foot or head as a whole."""

from dataclasses import replace

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array

from dressform.causes.case import Case
from dressform.causes.wearing import Wearing
from dressform.fit.fit import Fit
from dressform.repair.footprint import footprints
from dressform.repair.whole_pieces import BLEND, BOTH_WAYS, LEAST_FOOTPRINT, find_whole_pieces

WORDS = "the cloth past the end of the limb follows that part of the body as a whole"


def matters(case: Case) -> bool:
    """Whether cloth at the cluster stands on very little skin."""
    return bool(case.weights.any() and beyond(case.wearing)[case.vertices[case.near]].any())


def beyond(wearing: Wearing) -> Bool[np.ndarray, " G"]:
    """Cloth beyond an extremity, as the repair finds it."""
    factors = wearing.factors
    return (footprints(factors) < LEAST_FOOTPRINT) & (factors[:, 0] >= BOTH_WAYS)


def followed_whole(case: Case, fit: Fit, rows: csr_array) -> Fit:
    """The fit with every piece beyond an extremity moved by the similarity of its part of the body."""
    pieces = find_whole_pieces(
        case.ground.body,
        case.wearing.fit.garment,
        named={},
        detect=True,
        least_footprint=LEAST_FOOTPRINT,
        blend=BLEND,
        tree=case.ground.tree,
    )
    if not pieces:
        return fit
    shares = np.stack([rows @ piece.share[case.vertices] for piece in pieces])
    shares /= np.maximum(shares.sum(axis=0), 1.0)
    deltas = fit.deltas * (1.0 - shares.sum(axis=0))[:, None]
    for share, piece in zip(shares, pieces):
        deltas = deltas + (share * fit.garment.strength)[:, None] * piece.motion.moves(fit.base)
    return replace(fit, deltas=deltas)
