"""Sample points spread evenly over a garment's cloth, and how ease may vary from one to the next."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from dressform.garment.garment import Garment
from dressform.infer.skin import ShapedSkin, SkinView, spread_points
from dressform.mesh.rays import blocked
from dressform.mesh.topology import boundary_edges
from dressform.mesh.tree import Tree

ASKED = 400  # sample points of the cloth; more points change the answer by less than its spread
WIDE, CLOSE, AROUND = 0.45, 0.12, 0.06  # metres over which ease is alike: over the garment, over a panel, at a place
WIDE_TURN, CLOSE_TURN = 1.5, 0.8  # difference of unit normals over which it is alike: front and back may differ
WIDE_FIELDS, CLOSE_FIELDS = 12, 90  # patterns kept of each
MIN_OPENING = 8  # vertices round an opening; fewer are a slit or a hole in the mesh
RIM = 0.03  # metres; hems, cuffs and collars reach about so far in from an opening
OWN = 5e-4  # metres; cloth nearer to a vertex than this is its own
MAX_COVERED = 0.75  # where more of the vertices than this have other cloth below them, all are kept
RIM_FREEDOM = 2.0  # ease varies so many times more, on top of once, at an opening


@dataclass(frozen=True)
class AskedCloth:
    """Sample points of a garment and the patterns in which their ease may vary.

    Attributes:
        points: The points, (N, 3), metres.
        rim: 1 at an opening, falling to 0 away from it, (N,).
        around: Weights of a local mean over the cloth, rows sum to 1, (N, N).
        patterns: Wide and close patterns of ease, each about 1 in size once their random amounts are added up, (N, M).
        is_wide: Which patterns are wide, (M,).
        parts: Which part each point belongs to, one column per part, (N, P).
        upward: How far the skin there faces up, 0 to 1, (N,).
        openings: `rim` of all openings together, and of each by itself, (N, 1 + O).
    """

    points: Float[np.ndarray, "N 3"]
    rim: Float[np.ndarray, " N"]
    around: Float[np.ndarray, "N N"]
    patterns: Float[np.ndarray, "N M"]
    is_wide: Float[np.ndarray, " M"]
    parts: Float[np.ndarray, "N P"]
    upward: Float[np.ndarray, " N"]
    openings: Float[np.ndarray, "N O"]


def chosen_points(skin: ShapedSkin, garment: Garment) -> Int[np.ndarray, " N"]:
    """Vertices of the layer next to the skin, spread evenly, at most `ASKED`.

    A vertex with other cloth of the garment between itself and its foot (on an outer layer, a facing, the outside of a
    clog) shows how thick the garment is, not whom it fits. Such vertices are left out. Where few others remain, all
    vertices that triangles use are taken.
    """
    used = np.unique(garment.faces)
    points = garment.vertices[used]
    ways = skin.nearest_points(points) - points
    lengths = np.linalg.norm(ways, axis=1)
    off = np.flatnonzero(lengths > OWN)
    covered = np.zeros(len(used), dtype=bool)
    cloth = Tree(garment.vertices, garment.faces)
    covered[off] = blocked(cloth, points[off], ways[off], near=OWN / lengths[off], far=1.0).blocked
    inner = used if covered.mean() > MAX_COVERED else used[~covered]
    return inner[spread_points(garment.vertices[inner], ASKED)]


def ask_cloth(garment: Garment, chosen: Int[np.ndarray, " N"], look: SkinView) -> AskedCloth:
    """Prepare the sample points and their patterns of ease.

    Args:
        garment: The garment, lengths as of a body 1.7 m tall.
        chosen: Its vertices that serve as sample points.
        look: The base body as seen from them.
    """
    points = garment.vertices[chosen]
    rim = _rim(garment, points)
    wide = _patterns(_alike(points, look.normals, WIDE, WIDE_TURN), WIDE_FIELDS)
    close = _patterns(_alike(points, look.normals, CLOSE, CLOSE_TURN), CLOSE_FIELDS)
    close = close * (1.0 + RIM_FREEDOM * rim)[:, None]
    around = _alike(points, look.normals, AROUND, CLOSE_TURN)
    part = garment.vertex_parts()[chosen]
    return AskedCloth(
        points,
        rim,
        around / around.sum(axis=1, keepdims=True),
        np.hstack([wide, close]),
        np.repeat([1.0, 0.0], [wide.shape[1], close.shape[1]]),
        (part[:, None] == np.unique(part)).astype(np.float64),
        np.maximum(look.normals[:, 1], 0.0),
        _openings(garment, points, rim),
    )


def _rim(garment: Garment, points: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, " N"]:
    """How near each point is to an opening, 0 to 1."""
    edges = np.unique(boundary_edges(garment.faces))
    if edges.size == 0:
        return np.zeros(len(points))
    away, _ = cKDTree(garment.vertices[edges]).query(points)
    return np.asarray(np.exp(-(away**2) / (2 * RIM**2)))


def _openings(
    garment: Garment, points: Float[np.ndarray, "N 3"], rim: Float[np.ndarray, " N"]
) -> Float[np.ndarray, "N O"]:
    """The rim shared by all openings, and the part of it that is nearest to each."""
    edges = boundary_edges(garment.faces)
    if len(edges) == 0:
        return np.zeros((len(points), 0))
    on, compact = np.unique(edges, return_inverse=True)
    loops = connected_components(
        coo_array((np.ones(len(edges)), compact.reshape(-1, 2).T), shape=(len(on), len(on))), directed=False
    )[1]
    nearest = loops[cKDTree(garment.vertices[on]).query(points)[1]]
    large = np.flatnonzero(np.bincount(loops) >= MIN_OPENING)
    return np.column_stack([rim, rim[:, None] * (nearest[:, None] == large)])


def _alike(
    points: Float[np.ndarray, "N 3"], normals: Float[np.ndarray, "N 3"], length: float, turn: float
) -> Float[np.ndarray, "N N"]:
    """Correlation of the ease at two points: 1 for one place, less with distance and with turned skin."""
    away = _squares(points) / length**2 + _squares(normals) / turn**2
    return np.asarray(np.exp(-away / 2))


def _squares(rows: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N N"]:
    """Squared distance between every two rows."""
    lengths = (rows**2).sum(axis=1)
    return np.maximum(lengths[:, None] + lengths - 2.0 * rows @ rows.T, 0.0)


def _patterns(alike: Float[np.ndarray, "N N"], count: int) -> Float[np.ndarray, "N M"]:
    """The strongest patterns of a field with this correlation, each times its strength."""
    values, patterns = np.linalg.eigh(alike)
    strongest = slice(-min(count, len(values)), None)
    return patterns[:, strongest] * np.sqrt(np.maximum(values[strongest], 0.0))
