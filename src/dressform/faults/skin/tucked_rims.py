"""Tucked rims: the strip of cloth next to an opening or a hem that lies in the skin so that its edge is not seen."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra

from dressform.arrays import ClothPoints, Faces, VertexScalars
from dressform.faults.skin.open_edges import find_open_edges
from dressform.garment.along import TOUCH, distance_along, paths_along
from dressform.garment.parts import seam_groups
from dressform.mesh.geometry import barycentric

TUCK = 0.015
"""Cloth no farther than this from a tucked edge, along the cloth, is a rim, metres. Common practice, no source."""
FINE = TUCK / 2
"""In a triangle with sides no longer than this the distance counts as linear, metres."""

FAR = 4 * TUCK
"""Stands for every distance that is larger, metres."""


@dataclass(frozen=True)
class Rims:
    """The cloth along the edges of a garment that are tucked in.

    Attributes:
        vertices: The cloth, (G, 3), metres.
        faces: Its triangles, (F, 3); vertices that coincide are one vertex, so a closed seam is no open edge.
        along: Distance of each vertex to the nearest tucked edge along the cloth, metres, (G,); infinite
            far beyond `TUCK`.
        edges: Ends of the tucked edges, (E, 2).
        edges_of: The two tucked edges at each vertex, -1 where there is none, (G, 2).
    """

    vertices: ClothPoints
    faces: Faces
    along: VertexScalars
    edges: Int[np.ndarray, "E 2"]
    edges_of: Int[np.ndarray, "G 2"]

    @property
    def any(self) -> bool:
        """Whether the garment has a tucked edge."""
        return len(self.edges) > 0

    def holds(self, faces: Int[np.ndarray, " N"], points: Float[np.ndarray, "N 3"]) -> Bool[np.ndarray, " N"]:
        """Whether points of the cloth, each on one of its triangles, lie within `TUCK` of a tucked edge, (N,).

        The way leads straight to such an edge at a corner of the triangle, or to a corner and from there on along the
        cloth. In fine triangles the distance is interpolated between the corners.
        """
        if not self.any:
            return np.zeros(len(points), dtype=bool)
        corners = self.faces[faces]
        ways = self.along[corners] + np.linalg.norm(points[:, None] - self.vertices[corners], axis=2)
        sides = self.vertices[corners] - self.vertices[np.roll(corners, -1, axis=1)]
        fine = np.linalg.norm(sides, axis=2).max(axis=1, initial=0.0) <= FINE
        nearest = ways.min(axis=1)
        shares = barycentric(points[fine], self.vertices[corners[fine]])
        nearest[fine] = np.einsum("nc,nc->n", shares, np.minimum(self.along, FAR)[corners[fine]])
        for corner in corners.T:
            for edge in self.edges_of[corner].T:
                asked = np.flatnonzero(edge >= 0)
                start, end = self.vertices[self.edges[edge[asked]]].transpose(1, 0, 2)
                nearest[asked] = np.minimum(nearest[asked], _to_segments(points[asked], start, end))
        return nearest <= TUCK


def find_rims(vertices: ClothPoints, faces: Faces, signed: VertexScalars) -> Rims:
    """The rims of a garment that are tucked in.

    An edge is tucked where it belongs to an opening or a hem, lies in the body, and no more than `TUCK` along the cloth
    leads from it out of the body. The edges of holes are never tucked, so the cloth of a net or of lace has no rims.

    Args:
        vertices: The cloth at the base, (G, 3), metres.
        faces: Its triangles, (F, 3).
        signed: Clearance of each vertex, negative inside, (G,), metres.

    Proof: tests/faults/skin/test_tucked_rims.py
    """
    groups = seam_groups(vertices)
    _, first = np.unique(groups, return_index=True)
    joined = first[groups][faces]
    sound = joined[(joined != np.roll(joined, 1, axis=1)).all(axis=1)]
    found = find_open_edges(vertices, sound)
    inside = signed < 0
    asked = found.opening & inside[found.ends].any(axis=1)
    if asked.any():
        asked &= (_way_out(vertices, joined, signed) <= TUCK)[found.ends].all(axis=1)
    edges = found.ends[asked]
    edges_of = np.full((len(vertices), 2), -1)
    for column in (0, 1):
        edges_of[edges[:, column], column] = np.arange(len(edges))
    border = np.zeros(len(vertices), dtype=bool)
    border[edges.ravel()] = True
    along = distance_along(vertices, joined, border, within=2 * TUCK)
    return Rims(vertices, joined, along, edges, edges_of)


def _way_out(vertices: ClothPoints, faces: Faces, signed: VertexScalars) -> VertexScalars:
    """Distance of each vertex along the cloth to where the cloth leaves the body, (G,), metres; 0 outside.

    Between a vertex inside and one outside the cloth leaves the body where the clearance, taken as linear, is 0.
    """
    count, inside = len(vertices), signed < 0
    paths = paths_along(vertices, faces).tocoo()
    rows, columns, lengths = paths.row, paths.col, paths.data
    within = inside[rows] & inside[columns]
    leaving = inside[rows] != inside[columns]
    inner = np.where(inside[rows], rows, columns)[leaving]
    outer = np.where(inside[rows], columns, rows)[leaving]
    shares = signed[inner] / np.minimum(signed[inner] - signed[outer], -np.finfo(float).tiny)
    out = np.full(count, np.inf)
    np.minimum.at(out, inner, np.maximum(lengths[leaving] * shares, TOUCH))
    near = np.flatnonzero(np.isfinite(out))
    joins = (
        np.concatenate([lengths[within], out[near]]),
        (np.concatenate([rows[within], np.full(len(near), count)]), np.concatenate([columns[within], near])),
    )  # one more vertex stands for all places where the cloth leaves the body
    graph = csr_array(coo_array(joins, shape=(count + 1, count + 1)))
    leaves = np.array([count])
    found: VertexScalars = dijkstra(graph, directed=False, indices=leaves, min_only=True, limit=2 * TUCK)[:count]
    found[~inside] = 0.0
    return found


def _to_segments(
    points: Float[np.ndarray, "N 3"], start: Float[np.ndarray, "N 3"], end: Float[np.ndarray, "N 3"]
) -> Float[np.ndarray, " N"]:
    """Distance of each point to its segment, (N,), metres."""
    span = end - start
    square = np.maximum(np.einsum("nx,nx->n", span, span), np.finfo(float).tiny)
    share = np.clip(np.einsum("nx,nx->n", points - start, span) / square, 0.0, 1.0)
    return np.linalg.norm(points - start - share[:, None] * span, axis=1)
