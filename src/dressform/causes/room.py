"""Room that cloth should have: the margin, or as much as the cloth around a tight place has."""

import numpy as np
from scipy.sparse import coo_array, csr_array, diags_array

from dressform.arrays import VertexScalars
from dressform.garment.along import distance_along
from dressform.garment.garment import Garment
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import edge_lengths
from dressform.mesh.topology import edges

AROUND = 0.04
"""Cloth nearer than this to cloth that is too tight gives way with it, metres along the cloth."""
PULL = 1e-4
"""How firmly the room in a tight place tends to the garment's usual room rather than to that of its rim, no unit."""
CLOSE = 0.03
"""Cloth that has more room than this is loose; a tight place is let out to no more, metres beside the margin."""


def room_around(garment: Garment, clearance: VertexScalars, margin: float) -> VertexScalars:
    """Clearance that each vertex should have, (G,), metres: its own where nothing near it is too tight.

    Cloth nearer to the skin than the margin, and what lies within `AROUND` of it, gets the smooth surface that its
    rim spans: the sum over edges of squared differences of clearance, each over its length, is least. It gets at least
    the margin, at most `CLOSE` beside it, and never less than it has.

    Args:
        garment: The cloth.
        clearance: Of each vertex at the base, metres, negative inside the body.
        margin: Clearance that should remain, metres.

    Proof: tests/causes/test_room.py
    """
    tight = clearance < margin
    wanted = clearance.copy()
    if not tight.any():
        return wanted
    zone = distance_along(garment.vertices, garment.faces, tight, within=AROUND) <= AROUND
    usual = float(np.median(clearance[~zone])) if (~zone).any() else margin
    pairs = edges(garment.faces)
    stiffness = 1.0 / np.maximum(edge_lengths(garment.vertices, pairs), 1e-6)
    count = len(clearance)
    weights = coo_array((stiffness, (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    graph = csr_array(weights + weights.T)
    degrees = np.asarray(graph.sum(axis=1)).ravel()
    inner = np.flatnonzero(zone)
    pull = PULL * np.maximum(degrees[inner], stiffness.mean())
    matrix = diags_array(degrees[inner] + pull) - graph[inner][:, inner]
    right = graph[inner][:, np.flatnonzero(~zone)] @ clearance[~zone] + pull * max(usual, margin)
    spanned = Factor(csr_array(matrix)).solve(right[:, None])[:, 0]
    wanted[inner] = np.maximum(clearance[inner], np.clip(spanned, margin, margin + CLOSE))
    return wanted
