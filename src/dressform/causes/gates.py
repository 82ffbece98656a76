"""Gates: how far along the skin a foot may lie from where the cloth leads it.

Cloth near the skin knows where it belongs. From there outward along the cloth a foot may move along the skin no
farther than the cloth leads; a nearer skin that lies farther along the surface belongs to something else.
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse.csgraph import dijkstra

from dressform.arrays import VertexScalars
from dressform.causes.ground import Ground
from dressform.garment.along import ways_along
from dressform.garment.garment import Garment

SECURE = 0.02
"""Cloth nearer than this to the skin knows where it belongs, metres; so does the nearest quarter of a loose garment."""
SECURE_SHARE = 0.25
LEADS = 1.0
"""Metres along the skin that a foot may move per metre along the cloth,"""
SLACK = 0.02
"""and metres beside."""


@dataclass(frozen=True)
class Gates:
    """Which feet a garment's cloth does not lead to, and where it does lead.

    Attributes:
        gated: Whether a vertex's foot lies farther along the skin than the cloth leads, (G,).
        source: Body vertex under the secure cloth that leads there, (G,).
        limits: How far along the skin from that it may lie, metres, (G,).
        strays: How far along the skin the foot does lie, metres, (G,); infinite beyond twice the limit.
    """

    gated: Bool[np.ndarray, " G"]
    source: Int[np.ndarray, " G"]
    limits: Float[np.ndarray, " G"]
    strays: Float[np.ndarray, " G"]


def find_gates(ground: Ground, garment: Garment, clearance: VertexScalars, feet: Int[np.ndarray, " G"]) -> Gates:
    """Compare the way along the skin between two feet with the way along the cloth between the vertices on them.

    Args:
        ground: The body.
        garment: The cloth.
        clearance: Of each vertex on the base shape, metres.
        feet: Body vertex under each.
    """
    body = ground.body
    secure = clearance <= max(SECURE, float(np.quantile(clearance, SECURE_SHARE)))
    along, _, leader = dijkstra(
        ways_along(garment.vertices, garment.faces),
        directed=False,
        indices=np.flatnonzero(secure),
        min_only=True,
        return_predecessors=True,
    )
    led = np.isfinite(along) & ~secure
    source = feet[np.where(led, leader, np.arange(len(feet)))]
    limits = np.where(led, LEADS * along + SLACK, np.inf)
    gap = np.linalg.norm(body.vertices[feet] - body.vertices[source], axis=1)
    asked = np.flatnonzero(led & (gap > 0))
    strays = np.zeros(len(feet))
    if asked.size:
        starts, row = np.unique(source[asked], return_inverse=True)
        reach = 2.0 * float(limits[asked].max())
        distances = dijkstra(ground.ways, directed=False, indices=starts, limit=reach)
        strays[asked] = distances[row, feet[asked]]
    return Gates(strays > limits, source, limits, strays)
