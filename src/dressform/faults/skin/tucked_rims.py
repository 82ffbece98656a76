"""Tucked rims: cloth next to an open edge, which may lie in the skin so that the edge is not seen."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import ClothPoints, Faces, VertexScalars
from dressform.garment.along import distance_along
from dressform.garment.parts import seam_groups
from dressform.mesh.geometry import barycentric
from dressform.mesh.topology import boundary_edges

TUCK = 0.015
"""Cloth no farther than this from an open edge, along the cloth, is a rim, metres. Common practice, no source."""
FINE = TUCK / 2
"""In a triangle with sides no longer than this the distance counts as linear, metres."""

FAR = 4 * TUCK
"""Stands for every distance that is larger, metres."""


@dataclass(frozen=True)
class Rims:
    """The cloth along the open edges of a garment.

    Attributes:
        vertices: The cloth, (G, 3), metres.
        faces: Its triangles, (F, 3); vertices that coincide are one vertex, so a closed seam is no open edge.
        along: Distance of each vertex to the nearest open edge along the cloth, metres, (G,); infinite
            far beyond `TUCK`.
        edges: Ends of the open edges, (E, 2).
        edges_of: The two open edges at each vertex, -1 where there is none, (G, 2).
    """

    vertices: ClothPoints
    faces: Faces
    along: VertexScalars
    edges: Int[np.ndarray, "E 2"]
    edges_of: Int[np.ndarray, "G 2"]

    @property
    def any(self) -> bool:
        """Whether the garment has an open edge."""
        return len(self.edges) > 0

    def holds(self, faces: Int[np.ndarray, " N"], points: Float[np.ndarray, "N 3"]) -> Bool[np.ndarray, " N"]:
        """Whether points of the cloth, each on one of its triangles, lie within `TUCK` of an open edge, (N,).

        The way leads straight to an open edge at a corner of the triangle, or to a corner and from there on along the
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


def find_rims(vertices: ClothPoints, faces: Faces) -> Rims:
    """The rims of a garment.

    Args:
        vertices: The cloth at the base, (G, 3), metres.
        faces: Its triangles, (F, 3).

    Proof: tests/faults/skin/test_tucked_rims.py
    """
    groups = seam_groups(vertices)
    _, first = np.unique(groups, return_index=True)
    joined = first[groups][faces]
    sound = joined[(joined != np.roll(joined, 1, axis=1)).all(axis=1)]
    edges = boundary_edges(sound) if len(sound) else np.zeros((0, 2), dtype=np.int64)
    edges_of = np.full((len(vertices), 2), -1)
    for column in (0, 1):
        edges_of[edges[:, column], column] = np.arange(len(edges))
    border = np.zeros(len(vertices), dtype=bool)
    border[edges.ravel()] = True
    along = distance_along(vertices, joined, border, within=2 * TUCK)
    return Rims(vertices, joined, along, edges, edges_of)


def _to_segments(
    points: Float[np.ndarray, "N 3"], start: Float[np.ndarray, "N 3"], end: Float[np.ndarray, "N 3"]
) -> Float[np.ndarray, " N"]:
    """Distance of each point to its segment, (N,), metres."""
    span = end - start
    square = np.maximum(np.einsum("nx,nx->n", span, span), np.finfo(float).tiny)
    share = np.clip(np.einsum("nx,nx->n", points - start, span) / square, 0.0, 1.0)
    return np.linalg.norm(points - start - share[:, None] * span, axis=1)
