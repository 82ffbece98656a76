"""Origin: the shape that a garment was modelled on, if not the base body, and how to carry it back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float
from scipy.stats import chi2

from dressform.arrays import VertexScalars
from dressform.body.body import Body
from dressform.causes.evidence import OF
from dressform.fit.fit import Fit
from dressform.garment.along import distance_along
from dressform.garment.garment import Garment
from dressform.infer.bridging import part_of
from dressform.infer.results import OTHER_BASE, OTHER_SHAPE, InferredShape
from dressform.infer.shape import CAUTION, infer_shape
from dressform.infer.sunk import Sunk
from dressform.infer.verdict import SUNK, SUNK_ALIKE, SUNK_WIDTH
from dressform.mesh.geometry import face_areas
from dressform.repair.rebase import rebase

ELSEWHERE = (OTHER_SHAPE, OTHER_BASE)
MOST_CLOTH, NO_DENT = 95.0, 0.015
"""A shape that lies farther away than this under most of the cloth, per cent and metres, is no dent in it."""
DENT = 0.08
"""Cloth nearer than this to some that is too tight is bent by it, metres along the cloth."""
ONE_SIDED = 0.5
"""Where less than this share of what lies in the skin does so on the other side, too, it may be one place that was cut
too tight, however far the shape lies that would fit there."""
MIN_LEFT = 0.4
"""Share of a garment's area that must be left to say anything without the rest."""
DECISIVE = CAUTION * float(chi2.ppf(0.99, 1))
"""Where the rest of the cloth prefers the shape that all of it shows to the base by this much, twice the logarithm of
a ratio of likelihoods, it shows that shape, too. Two given shapes are compared: one degree of freedom."""
MIN_WEIGHT = 0.05
"""Smaller weights of the shape that was inferred are left out."""


@dataclass(frozen=True)
class Origin:
    """The shape that a garment was modelled on.

    Attributes:
        moves: How far each vertex moves when it is carried from that shape to the base body, (G, 3), metres.
        meant: Clearance of each vertex on that shape, (G,), metres.
        figures: That shape by the names of `EVIDENCE`: weights of the body's morphs, or the name of another base body.
    """

    moves: Float[np.ndarray, "G 3"]
    meant: VertexScalars
    figures: Mapping[str, float]


def find_origin(fit: Fit, clearance: VertexScalars, *, others: Sequence[Body]) -> Origin | None:
    """Infer the shape that a garment was modelled on; None if it may be the base body.

    A garment that is only loose counts as modelled on the base body, because nothing has to be changed.

    Args:
        fit: The garment on its body; its following says which clearance should remain, and how it is carried.
        clearance: Of each vertex at the base, metres.
        others: Other base bodies on which it may have been modelled.
    """
    body, garment, following = fit.body, fit.garment, fit.following
    if not len(body.morph_names) and not others:
        return None
    found = infer_shape(body, garment, others=others)
    if found.verdict not in ELSEWHERE:
        return None
    carrier, weights = found.way_back(body)
    carried = rebase(carrier, garment, weights, following)
    if not _is_spread(found):
        shown = _shown_by_the_rest(body, garment, clearance < following.margin, found, others)
        far = float(np.percentile(np.linalg.norm(carried.moves, axis=1), MOST_CLOTH)) >= NO_DENT
        if shown is False or (shown is None and (_is_one_sided(found) or not far)):
            return None
    return Origin(carried.moves, carried.clearance_there, _figures(body, found))


def _is_spread(found: InferredShape) -> bool:
    """Whether cloth lies in the skin on both sides alike, and far around: no place that was cut too tight."""
    return Sunk(found.evidence.get(SUNK_ALIKE, 0.0), found.evidence.get(SUNK_WIDTH, 0.0)).is_spread


def _is_one_sided(found: InferredShape) -> bool:
    """Whether cloth lies in the skin on one side only."""
    return found.evidence.get(SUNK, 0.0) > 0.0 and found.evidence.get(SUNK_ALIKE, 1.0) < ONE_SIDED


def _shown_by_the_rest(
    body: Body, garment: Garment, tight: Bool[np.ndarray, " G"], found: InferredShape, others: Sequence[Body]
) -> bool | None:
    """Whether the cloth away from the tight places shows another shape as well; None where too little of it is left.

    A place that is cut too tight looks like a smaller body under it, or like one that stands elsewhere; only cloth with
    room can tell the two apart. It need not exclude the base by itself, if it prefers the shape that all of the cloth
    shows by far: round a dent it prefers the base.
    """
    if not tight.any():
        return True
    kept = distance_along(garment.vertices, garment.faces, tight, within=DENT) > DENT
    faces = kept[garment.faces].all(axis=1)
    areas = face_areas(garment.vertices, garment.faces)
    if areas[faces].sum() < MIN_LEFT * areas.sum():
        return None
    rest = infer_shape(body, part_of(garment, faces), others=others)
    if rest.verdict in ELSEWHERE:
        return True
    if found.verdict != OTHER_SHAPE:
        return False
    return rest.excess(np.zeros(len(found.weights))) - rest.excess(found.weights) > DECISIVE


def _figures(body: Body, found: InferredShape) -> dict[str, float]:
    """The shape as figures: another base body, or weights of this one's morphs."""
    if found.verdict == OTHER_BASE:
        return {"base" + OF + found.base: 1.0}
    named = zip(body.morph_names, found.weights)
    return {"weight" + OF + name: float(weight) for name, weight in named if abs(weight) >= MIN_WEIGHT}
