"""Distance along the cloth."""

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra

from dressform.arrays import ClothPoints, Faces, VertexScalars
from dressform.garment.parts import seam_pairs

TOUCH = 1e-9  # metres along a seam: a path needs a length, and a sparse graph drops zeros


def distance_along(
    vertices: ClothPoints, faces: Faces, seeds: Bool[np.ndarray, " G"], *, within: float = np.inf
) -> VertexScalars:
    """Length of the shortest path along the cloth to the nearest seed, (G,), metres; infinite where there is none.

    Paths run along the edges and straight across pairs of neighbouring triangles. They pass from piece to piece where
    vertices coincide. They are never shorter than the true distance and, on even triangles, about 4 % longer at most.

    Args:
        vertices: The cloth, (G, 3), metres.
        faces: Its triangles, (F, 3).
        seeds: Where the distance is 0, (G,).
        within: Vertices farther than this get an infinite distance, metres.

    Proof: tests/garment/test_along.py::test_distance_on_a_flat_sheet_is_nearly_straight
    """
    if not seeds.any():
        return np.full(len(vertices), np.inf)
    graph = paths_along(vertices, faces)
    return dijkstra(graph, directed=False, indices=np.flatnonzero(seeds), min_only=True, limit=within)


def paths_along(vertices: ClothPoints, faces: Faces) -> csr_array:
    """Graph of edges, of diagonals across pairs of triangles, and of seams; every entry a length."""
    tails, heads = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    tips = np.roll(faces, -2, axis=1).ravel()
    lengths = np.linalg.norm(vertices[tails] - vertices[heads], axis=1)
    keys = np.minimum(tails, heads) * len(vertices) + np.maximum(tails, heads)
    rank = np.argsort(keys, kind="stable")
    paired = np.flatnonzero(keys[rank[:-1]] == keys[rank[1:]])
    first, second = rank[paired], rank[paired + 1]
    across = _unfolded(vertices, tails[first], heads[first], tips[first], tips[second])
    seams = seam_pairs(vertices)
    rows = np.concatenate([tails, tips[first], seams[:, 0]])
    columns = np.concatenate([heads, tips[second], seams[:, 1]])
    paths = np.concatenate([np.maximum(lengths, TOUCH), np.maximum(across, TOUCH), np.full(len(seams), TOUCH)])
    kept = np.isfinite(paths) & (rows != columns)
    low, high = np.minimum(rows, columns)[kept], np.maximum(rows, columns)[kept]
    # A pair met several times keeps its shortest path: the matrix would add them up.
    rank = np.lexsort((paths[kept], high, low))
    low, high, paths = low[rank], high[rank], paths[kept][rank]
    new = np.append(True, (low[1:] != low[:-1]) | (high[1:] != high[:-1]))
    return csr_array(coo_array((paths[new], (low[new], high[new])), shape=(len(vertices), len(vertices))))


def _unfolded(
    vertices: ClothPoints,
    start: Int[np.ndarray, " N"],
    end: Int[np.ndarray, " N"],
    left: Int[np.ndarray, " N"],
    right: Int[np.ndarray, " N"],
) -> Float[np.ndarray, " N"]:
    """Distance between the tips of two triangles laid flat around their common edge; infinite where it leaves them."""
    edge = vertices[end] - vertices[start]
    length = np.linalg.norm(edge, axis=1)
    unit = edge / np.maximum(length, TOUCH)[:, None]
    along, away = [], []
    for tip in (left, right):
        spoke = vertices[tip] - vertices[start]
        along.append(np.einsum("nx,nx->n", spoke, unit))
        away.append(np.linalg.norm(spoke - along[-1][:, None] * unit, axis=1))
    height = np.maximum(away[0] + away[1], TOUCH)
    crossing = along[0] + (along[1] - along[0]) * away[0] / height
    inside = (crossing >= 0) & (crossing <= length)
    return np.where(inside, np.hypot(along[1] - along[0], height), np.inf)
