"""Extremities: cloth that follows a part of the body as a whole on one shape, and how that part moves."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from dressform.arrays import VertexScalars
from dressform.causes.explained_body import ExplainedBody
from dressform.lift.feet import Feet
from dressform.repair.whole.footprint import footprints
from dressform.repair.whole.moving_ends import LIMB, OWN_MOTION, THIN
from dressform.repair.whole.rigid import Turned, fit_turned
from dressform.repair.whole.whole_pieces import (
    BLEND,
    BOTH_WAYS,
    CLEARANCE_REACH,
    END_REACH,
    MIN_FOOTPRINT,
    REACH,
    faded,
)


@dataclass(frozen=True)
class WholePiece:
    """Cloth that follows a part of the body as a whole.

    Attributes:
        core: Cloth that follows fully, (G,).
        share: 1 there, falling to 0 along the cloth around it, (G,).
        motion: What is nearest to how that part of the body moves.
    """

    core: Bool[np.ndarray, " G"]
    share: Float[np.ndarray, " G"]
    motion: Turned


def find_whole(
    context: ExplainedBody,
    feet: Feet,
    paths: csr_array,
    *,
    on: Int[np.ndarray, " G"],
    thickness: VertexScalars,
    factors: Float[np.ndarray, "G 2"],
) -> tuple[WholePiece, ...]:
    """The pieces of a garment that stand on very little skin, or on fingers and toes that move by themselves.

    "Very little" means a footprint under `MIN_FOOTPRINT` on skin that is round in both directions, as in the repair. A
    finger or toe is where the body is thinner than `THIN`; it moves by itself where its skin turns or stretches by
    `OWN_MOTION` more than its limb. Cloth nearer than `LIMB` belongs to it: there the two motions meet.

    Args:
        context: The body, narrowed to one shape.
        feet: Where the garment stands.
        paths: Path lengths along the cloth.
        on: Body vertex under each foot.
        thickness: Of the body under each foot, metres.
        factors: By how much skin grows from each foot out to the cloth.
    """
    core = (footprints(factors) < MIN_FOOTPRINT) & (factors[:, 0] >= BOTH_WAYS)
    thin = thickness < THIN
    moves = thin & (context.own_motion[on] >= OWN_MOTION)
    fingers = np.zeros_like(thin)
    if moves.any():
        labels = _pieces(paths, thin)
        fingers = thin & np.isin(labels, labels[moves])
        core = core | (_along(paths, fingers, LIMB) <= LIMB)
    if not core.any():
        return ()
    labels = _pieces(paths, core)
    groups = [core & (labels == label) for label in np.unique(labels[core])]
    return tuple(_piece(context, feet, paths, group, is_end=bool((fingers & group).any())) for group in groups)


def _piece(
    context: ExplainedBody, feet: Feet, paths: csr_array, core: Bool[np.ndarray, " G"], *, is_end: bool
) -> WholePiece:
    """One piece, with the transition around it and the motion of the skin under it."""
    body = context.body
    clearance = float(np.median(feet.clearance[core]))
    blend = max(BLEND, clearance)
    share = faded(_along(paths, core, blend) / blend)
    seeds = np.zeros(len(body.vertices), dtype=bool)
    seeds[body.faces[feet.faces[core]]] = True
    reach = END_REACH if is_end else max(REACH, CLEARANCE_REACH * clearance)
    skin = faded(_along(context.paths, seeds, reach) / reach)
    used = np.flatnonzero(skin)
    motion = fit_turned(body.vertices[used], (skin * context.areas)[used], body.deltas[:, used], np.ones(1))
    return WholePiece(core, share, motion)


def _along(paths: csr_array, seeds: Bool[np.ndarray, " V"], within: float) -> VertexScalars:
    """Length of the shortest path to the nearest seed; infinite beyond the limit."""
    return dijkstra(paths, directed=False, indices=np.flatnonzero(seeds), min_only=True, limit=within)


def _pieces(paths: csr_array, mask: Bool[np.ndarray, " G"]) -> np.ndarray:
    """Number of the connected piece of a mask that each vertex belongs to."""
    pairs = paths.tocoo()
    kept = mask[pairs.row] & mask[pairs.col]
    graph = csr_array((pairs.data[kept], (pairs.row[kept], pairs.col[kept])), shape=pairs.shape)
    return connected_components(graph, directed=False)[1]
