"""Data of the base body that an audit uses repeatedly, prepared once."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from dressform.arrays import BodyPoints, Faces, VertexScalars
from dressform.audit.results import Spot
from dressform.body.body import Body
from dressform.faults.places import Surface, make_place, make_surface, region_names
from dressform.mesh.geometry import edge_lengths, vertex_areas, vertex_normals
from dressform.mesh.topology import adjacency, components, edges


@dataclass(frozen=True)
class AuditedSkin:
    """The base body with areas, neighbours and words for its places.

    Attributes:
        vertices: (B, 3), metres.
        faces: (F, 3).
        used: Vertices that a triangle uses; no other can be seen, (B,).
        areas: Of each vertex, m², (B,).
        normals: Outward, (B, 3).
        around: 1 where an edge joins two vertices, (B, B).
        lengths: Length of that edge, (B, B), metres.
        shells: Connected piece of the mesh that each vertex belongs to, (B,).
        surface: Region and side of each vertex.
        floor: Height of the lowest vertex, metres.
    """

    vertices: BodyPoints
    faces: Faces
    used: Bool[np.ndarray, " B"]
    areas: VertexScalars
    normals: Float[np.ndarray, "B 3"]
    around: csr_array
    lengths: csr_array
    shells: Int[np.ndarray, " B"]
    surface: Surface
    floor: float

    @classmethod
    def of(cls, body: Body) -> "AuditedSkin":
        """Prepare the base body of a body."""
        vertices, faces, count = body.vertices, body.faces, len(body.vertices)
        normals = vertex_normals(vertices, faces)
        names = region_names(vertices, body.regions)
        pairs = edges(faces)
        spans = np.maximum(edge_lengths(vertices, pairs), np.finfo(float).tiny)
        upper = csr_array(coo_array((spans, (pairs[:, 0], pairs[:, 1])), shape=(count, count)))
        return cls(
            vertices=vertices,
            faces=faces,
            used=np.isin(np.arange(count), faces),
            areas=vertex_areas(vertices, faces),
            normals=normals,
            around=adjacency(faces, count),
            lengths=csr_array(upper + upper.T),
            shells=components(faces, count),
            surface=make_surface(faces, names, np.full(count, ""), vertices, normals),
            floor=float(vertices[:, 1].min()),
        )

    def pieces(self, marked: Bool[np.ndarray, " B"]) -> tuple[Int[np.ndarray, " N"], Int[np.ndarray, " N"]]:
        """The marked vertices, and the number of the connected piece that each belongs to."""
        members = np.flatnonzero(marked)
        return members, connected_components(self.around[members][:, members], directed=False)[1]

    def reached(self, seeds: Int[np.ndarray, " N"], distance: float) -> Bool[np.ndarray, " B"]:
        """Vertices within `distance` metres of the seeds along the edges, (B,)."""
        if not seeds.size:
            return np.zeros(len(self.vertices), dtype=bool)
        return np.isfinite(dijkstra(self.lengths, directed=False, indices=seeds, min_only=True, limit=distance))

    def spot(self, members: Int[np.ndarray, " N"], vertex: int) -> Spot:
        """A spot in words, located at the vertex that represents it."""
        x, y, z = (float(value) for value in self.vertices[vertex])
        region, side = str(self.surface.regions[vertex]), str(self.surface.sides[vertex])
        area = float(self.areas[members].sum())
        place = make_place((x, y, z), int(vertex), region=region, side=side, height=y - self.floor, area=area)
        return Spot(place, members)

    def spots(self, marked: Bool[np.ndarray, " B"], values: VertexScalars) -> tuple[Spot, ...]:
        """Connected spots of the marked vertices, the largest values first; each is located at its worst vertex."""
        members, labels = self.pieces(marked)
        order = np.argsort(-values[members], kind="stable")
        _, leaders = np.unique(labels[order], return_index=True)
        worst = members[order[np.sort(leaders)]]
        label_of = dict(zip(members.tolist(), labels.tolist()))
        return tuple(self.spot(members[labels == label_of[int(vertex)]], int(vertex)) for vertex in worst)
