"""What is wrong with a garment at the base already, where a check is clean by definition."""

import numpy as np
from jaxtyping import Float

from dressform.arrays import VertexScalars, Weights
from dressform.causes.measuring import Measuring
from dressform.faults.graded.clearance import CLEARANCE
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.inside import INSIDE
from dressform.faults.places import find_places, negated
from dressform.faults.results import Place
from dressform.faults.severity import Bands
from dressform.faults.whereabouts import Whereabouts, name_whereabouts
from dressform.garment.along import distance_along
from dressform.garment.parts import seam_pairs
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.topology import boundary_edges

TUCK = 0.03
"""Cloth nearer to an open edge than this may lie in the skin: a hem is often tucked in there to hide it, metres."""


def base_places(measuring: Measuring, *, bands: Bands, meant: VertexScalars | None = None) -> tuple[Place, ...]:
    """Places at the base where the cloth lies in the body, or farther from it than it was meant to.

    Cloth in the body counts as `depth`. Hems do not: what lies within `TUCK` of an open edge was put there. Neither
    does a garment of which a smaller share lies in the body than the band of `inside` calls slight. Unusual room counts
    as `clearance`, by the clearance that each vertex was `meant` to have; where that is not known there is none,
    because a loose garment is no fault.

    Args:
        measuring: The garment on its body.
        bands: From which value on a fault is slight, moderate, grave.
        meant: Clearance of each vertex on the shape that the garment was modelled on, metres, (G,).

    Proof: tests/causes/test_base_places.py
    """
    garment = measuring.fit.garment
    areas = vertex_areas(garment.vertices, garment.faces)
    sunk = _sunk(measuring, areas)
    is_sunk = bool((sunk > 0).any() and areas[sunk > 0].sum() >= bands[INSIDE.key][0] * areas.sum())
    if meant is None and not is_sunk:
        return ()
    where = _whereabouts(measuring)
    found = _places(measuring, where, DEPTH.key, sunk, bands) if is_sunk else ()
    if meant is not None:
        room = measuring.sides.signed - meant
        found += _places(measuring, where, CLEARANCE.key, room, bands)
        found += negated(_places(measuring, where, CLEARANCE.key, -room, bands))
    return found


def base_weights(measuring: Measuring) -> Weights:
    """The weights of the base body."""
    return np.zeros(len(measuring.fit.morph_names))


def _sunk(measuring: Measuring, areas: VertexScalars) -> VertexScalars:
    """How deep each vertex lies in the body, 0 at hems, metres."""
    garment = measuring.fit.garment
    depths = measuring.field(DEPTH.key, base_weights(measuring))
    border = np.zeros(len(garment.vertices), dtype=bool)
    border[boundary_edges(garment.faces).ravel()] = True
    if border.any():
        depths[distance_along(garment.vertices, garment.faces, border, within=TUCK) < TUCK] = 0.0
    return np.where(areas > 0, depths, 0.0)


def _whereabouts(measuring: Measuring) -> Whereabouts:
    garment = measuring.fit.garment
    seams = seam_pairs(garment.vertices)
    return name_whereabouts(measuring.ground.body, garment, measuring.through, measuring.outward, seams)


def _places(
    measuring: Measuring, where: Whereabouts, fault: str, values: Float[np.ndarray, " G"], bands: Bands
) -> tuple[Place, ...]:
    return find_places(
        where.cloth,
        fault,
        np.maximum(values, 0.0),
        bands=bands,
        points=measuring.fit.garment.vertices,
        areas=where.areas,
        floor=float(measuring.ground.body.vertices[:, 1].min()),
    )
