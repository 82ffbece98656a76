"""Gates: how far along the skin a foot may lie from where the cloth leads it.

The feet of cloth near the skin are secure. From there outward along the cloth, a foot may move along the skin no
farther than the cloth does. A nearer skin that lies farther along the surface belongs to another part of the body.
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from dressform.causes.explained_body import ExplainedBody
from dressform.garment.along import distance_along
from dressform.garment.garment import Garment
from dressform.lift.feet import Feet
from dressform.mesh.geometry import edge_lengths
from dressform.mesh.topology import components, edges

TORN = 3.0
"""Feet of joined vertices are torn apart where they lie so many times farther from each other than the vertices do,"""
MIN_TEAR = 0.03
"""and at least this far, metres."""
TEAR_REACH = 0.12
"""Cloth within this of a tear may stand on the wrong side of it, metres along the cloth."""
SECURE = 0.02
"""Cloth nearer than this to the skin knows where it belongs, metres; so does the nearest quarter of a loose garment."""
SECURE_SHARE = 0.25
LEADS = 0.5
"""Metres along the skin that a foot may move per metre along the cloth,"""
SLACK = 0.01
"""and metres beside."""


@dataclass(frozen=True)
class Gates:
    """Feet that a garment's cloth does not lead to, and where it leads instead.

    Attributes:
        gated: Whether a vertex's foot lies farther along the skin than the cloth leads, (G,).
        source: Body vertex under the secure cloth that leads there, (G,).
        limits: How far along the skin from that it may lie, metres, (G,).
        strays: How far along the skin the foot lies, metres, (G,); the straight distance where that exceeds the limit
            already.
    """

    gated: Bool[np.ndarray, " G"]
    source: Int[np.ndarray, " G"]
    limits: Float[np.ndarray, " G"]
    strays: Float[np.ndarray, " G"]


def find_gates(
    context: ExplainedBody, garment: Garment, feet: Feet, on: Int[np.ndarray, " G"], paths: csr_array
) -> Gates:
    """Find tears, where joined vertices have feet far apart on the skin, and the wrong feet beside them.

    A foot is wrong if it lies farther along the skin than the cloth leads from the nearest secure cloth.

    Args:
        context: The body.
        garment: The cloth.
        feet: Where it stands at the base.
        on: Body vertex under each foot.
        paths: Path lengths along the cloth.

    Proof: tests/causes/test_gates.py
    """
    count = len(on)
    pairs = edges(garment.faces)
    torn = _torn(garment, feet, pairs)
    asked = np.flatnonzero(_beside(garment, pairs[torn]))
    source, limits, strays = on.copy(), np.full(count, np.inf), np.zeros(count)
    secure = feet.clearance <= max(SECURE, float(np.quantile(feet.clearance, SECURE_SHARE)))
    secure &= _main_part(garment, pairs[~torn])
    asked = asked[~secure[asked]]
    if asked.size:
        along, _, leader = dijkstra(
            paths, directed=False, indices=np.flatnonzero(secure), min_only=True, return_predecessors=True
        )
        asked = asked[np.isfinite(along[asked])]
        source[asked] = on[leader[asked]]
        limits[asked] = LEADS * along[asked] + SLACK
        strays[asked] = np.linalg.norm(context.body.vertices[on[asked]] - context.body.vertices[source[asked]], axis=1)
        asked = asked[strays[asked] <= limits[asked]]
    if asked.size:
        starts, row = np.unique(source[asked], return_inverse=True)
        reach = float(limits[asked].max())
        strays[asked] = dijkstra(context.paths, directed=False, indices=starts, limit=reach)[row, on[asked]]
    return Gates(strays > limits, source, limits, strays)


def _torn(garment: Garment, feet: Feet, pairs: Int[np.ndarray, "E 2"]) -> Bool[np.ndarray, " E"]:
    """Edges whose ends have feet far apart on the skin."""
    gaps = np.linalg.norm(feet.points[pairs[:, 0]] - feet.points[pairs[:, 1]], axis=1)
    return gaps > np.maximum(TORN * edge_lengths(garment.vertices, pairs), MIN_TEAR)


def _beside(garment: Garment, torn: Int[np.ndarray, "T 2"]) -> Bool[np.ndarray, " G"]:
    """Vertices at a tear or near one."""
    ends = np.zeros(len(garment.vertices), dtype=bool)
    ends[torn] = True
    return distance_along(garment.vertices, garment.faces, ends, within=TEAR_REACH) <= TEAR_REACH


def _main_part(garment: Garment, whole: Int[np.ndarray, "W 2"]) -> Bool[np.ndarray, " G"]:
    """Vertices of the largest part of each connected piece when the torn edges are cut.

    A tear all round a bulge cuts it off: the cloth beyond is near another skin and looks secure there, but is not.
    """
    count = len(garment.vertices)
    cut = csr_array((np.ones(len(whole)), (whole[:, 0], whole[:, 1])), shape=(count, count))
    part = connected_components(cut, directed=False)[1]
    piece = components(garment.faces, count)
    sizes = np.bincount(part)[part]
    largest = np.zeros(int(piece.max(initial=-1)) + 1, dtype=np.int64)
    np.maximum.at(largest, piece, sizes)
    return sizes == largest[piece]
