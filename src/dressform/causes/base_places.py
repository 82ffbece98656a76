"""Faults of a garment at the base, where a check is clean by definition."""

import numpy as np
from jaxtyping import Float

from dressform.arrays import VertexScalars, Weights
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.clearance import CLEARANCE
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.inside import INSIDE
from dressform.faults.percentiles import percentiles
from dressform.faults.places import find_places, negated
from dressform.faults.results import Place
from dressform.faults.severity import Bands
from dressform.garment.along import distance_along
from dressform.mesh.topology import boundary_edges

TUCK = 0.03
"""Cloth nearer to an open edge than this may lie in the skin: a hem is often tucked in there to hide it, metres."""


def base_places(worn: GarmentOnBody, *, bands: Bands) -> tuple[Place, ...]:
    """Places at the base where the cloth lies in the body, or farther from it than intended.

    Cloth in the body counts as `depth`. Hems do not: what lies within `TUCK` of an open edge was put there. Neither
    does a garment of which a smaller share lies in the body than the band of `inside` calls slight. Unusual room counts
    as `clearance`, by the clearance that each vertex was meant to have; where that is not known there is none,
    because a loose garment is no fault. As on any shape, no place is worth more than what 5 % of the cloth reach.

    Args:
        worn: The garment on its body.
        bands: From which value on a fault is slight, moderate, grave.

    Proof: tests/causes/test_clusters.py
    """
    areas, meant = worn.areas, worn.meant
    sunk = _sunk(worn, areas)
    is_sunk = bool((sunk > 0).any() and areas[sunk > 0].sum() >= bands[INSIDE.key][0] * areas.sum())
    if meant is None and not is_sunk:
        return ()
    found = _places(worn, DEPTH.key, sunk, bands) if is_sunk else ()
    if meant is not None:
        room, most = worn.sides.signed - meant, graded_room(worn)
        found += _places(worn, CLEARANCE.key, room, bands, most)
        found += negated(_places(worn, CLEARANCE.key, -room, bands, most))
    return found


def graded_room(worn: GarmentOnBody) -> float:
    """What a garment is graded by at the base: the worse of the 5th and 95th percentile of its unusual room, metres."""
    room = worn.field(CLEARANCE.key, base_weights(worn))
    low, high = percentiles(room, worn.areas, (5.0, 95.0))
    return max(abs(low), abs(high))


def base_weights(worn: GarmentOnBody) -> Weights:
    """The weights of the base body."""
    return np.zeros(len(worn.fit.morph_names))


def _sunk(worn: GarmentOnBody, areas: VertexScalars) -> VertexScalars:
    """How deep each vertex lies in the body, 0 at hems, metres."""
    garment = worn.fit.garment
    depths = worn.field(DEPTH.key, base_weights(worn))
    border = np.zeros(len(garment.vertices), dtype=bool)
    border[boundary_edges(garment.faces).ravel()] = True
    if border.any():
        depths[distance_along(garment.vertices, garment.faces, border, within=TUCK) < TUCK] = 0.0
    return np.where(areas > 0, depths, 0.0)


def _places(
    worn: GarmentOnBody, fault: str, values: Float[np.ndarray, " G"], bands: Bands, most: float = np.inf
) -> tuple[Place, ...]:
    if min(most, float(values.max(initial=0.0))) < bands[fault][0]:
        return ()
    return find_places(
        worn.where.cloth,
        fault,
        np.maximum(values, 0.0),
        bands=bands,
        points=worn.fit.garment.vertices,
        areas=worn.areas,
        floor=float(worn.context.body.vertices[:, 1].min()),
        most=most,
    )
