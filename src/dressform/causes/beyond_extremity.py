"""Beyond an extremity: cloth on fingers, toes or past the crown follows hand, foot or head as a whole."""

from dataclasses import replace

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from dressform.causes.case import Case
from dressform.causes.ground import LIMB
from dressform.causes.wearing import Wearing
from dressform.fit.fit import Fit
from dressform.garment.along import distance_along, ways_along
from dressform.repair.footprint import footprints
from dressform.repair.rigid import Motion, fit_motion
from dressform.repair.whole_pieces import BLEND, BOTH_WAYS, CLEARANCE_REACH, LEAST_FOOTPRINT, REACH, faded

WORDS = "the cloth past the end of the limb follows that part of the body as a whole"
CURED = ("exposed", "depth", "inside", "crumple", "stretch", "folded", "crossing", "layers")
THIN = 0.03
"""A part of the body thinner than this is a finger or a toe, metres: as wide as what crumple is judged in."""
OWN_MOTION = 0.25
"""Turn in radians, or lengthening per length, beyond that of its limb, with which skin moves by itself."""


def matters(case: Case) -> bool:
    """Whether cloth at the cluster stands on very little skin, or on a finger or toe that moves by itself."""
    return bool(case.weights.any() and _core(case)[case.vertices[case.near]].any())


def beyond(wearing: Wearing) -> Bool[np.ndarray, " G"]:
    """Cloth that stands on very little skin, as the repair finds it."""
    factors = wearing.factors
    return (footprints(factors) < LEAST_FOOTPRINT) & (factors[:, 0] >= BOTH_WAYS)


def _core(case: Case) -> Bool[np.ndarray, " G"]:
    """Cloth of the garment that is to follow as a whole."""
    wearing = case.wearing
    own = case.ground.own_motion[wearing.foot_vertices] >= OWN_MOTION
    small = beyond(wearing)
    if not own.any():
        return small
    thin = _pieces_with(wearing, wearing.thickness < THIN, own)
    garment = wearing.fit.garment
    return small | (distance_along(garment.vertices, garment.faces, thin, within=LIMB) <= LIMB)


def _pieces_with(
    wearing: Wearing, mask: Bool[np.ndarray, " G"], some: Bool[np.ndarray, " G"]
) -> Bool[np.ndarray, " G"]:
    """The connected pieces of a mask in which some vertex is marked."""
    labels = _labels(wearing, mask)
    return mask & np.isin(labels, labels[mask & some])


def _labels(wearing: Wearing, mask: Bool[np.ndarray, " G"]) -> np.ndarray:
    """Number of the connected piece of a mask that each vertex belongs to."""
    ways = ways_along(wearing.fit.garment.vertices, wearing.fit.garment.faces).tocoo()
    kept = mask[ways.row] & mask[ways.col]
    graph = csr_array((ways.data[kept], (ways.row[kept], ways.col[kept])), shape=ways.shape)
    return connected_components(graph, directed=False)[1]


def followed_whole(case: Case, fit: Fit, rows: csr_array) -> Fit:
    """The fit with every such piece near the cluster moved by the similarity of its part of the body."""
    wearing = case.wearing
    core = _core(case)
    labels = _labels(wearing, core)
    near = core[case.vertices]
    shares, motions = [], []
    for label in np.unique(labels[case.vertices[near]]):
        piece = core & (labels == label)
        motions.append(_motion(case, piece))
        blend = max(BLEND, float(np.median(wearing.feet.clearance[piece])))
        along = distance_along(wearing.fit.garment.vertices, wearing.fit.garment.faces, piece, within=blend)
        shares.append(rows @ faded(along / blend)[case.vertices])
    if not shares:
        return fit
    weights: Float[np.ndarray, "P W"] = np.stack(shares)
    weights /= np.maximum(weights.sum(axis=0), 1.0)
    deltas = fit.deltas * (1.0 - weights.sum(axis=0))[:, None]
    for share, motion in zip(weights, motions):
        deltas = deltas + (share * fit.garment.strength)[:, None] * motion.moves(fit.base)
    return replace(fit, deltas=deltas)


def _motion(case: Case, piece: Bool[np.ndarray, " G"]) -> Motion:
    """The similarity nearest to how the part of the body moves that a piece stands on."""
    wearing, body = case.wearing, case.ground.body
    seeds = np.zeros(len(body.vertices), dtype=bool)
    seeds[body.faces[wearing.feet.faces[piece]]] = True
    reach = max(REACH, CLEARANCE_REACH * float(np.median(wearing.feet.clearance[piece])))
    skin = faded(distance_along(body.vertices, body.faces, seeds, within=reach) / reach)
    used = np.flatnonzero(skin)
    return fit_motion(body.vertices[used], (skin * case.ground.areas)[used], body.deltas[:, used], stretch=True)
