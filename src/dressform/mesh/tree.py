"""A bounding volume hierarchy over the triangles of a mesh, kept and refitted while the mesh moves."""

from functools import cached_property

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Faces, Points
from dressform.errors import ArgumentError
from dressform.mesh.flat import flat_mesh, flat_points
from dressform.mesh.geometry_kernels import angle_weighted_sums, normals_and_areas, side_sums
from dressform.mesh.sides import Sides
from dressform.mesh.tree_kernels import build, refit


class Tree:
    """A tree of nested boxes around triangles, for finding nearest points, ray hits and crossings.

    It is built once for a list of triangles; `refit` then follows moved vertices at a twentieth of the cost. A tree
    never changes after it is made, so threads may share one.

    Attributes:
        vertices: The mesh, (V, 3), metres.
        faces: Its triangles, (F, 3).
        order: Which face each slot (triangle in leaf order) holds, (F,).
        slot_of: Which slot holds each face, (F,).
        first: Left child of an inner node, first slot of a leaf, (N,).
        count: How many slots a leaf holds, 0 for inner nodes, (N,).
        slots: Three corners and the unit normal per slot, (F, 12).
        bounds: Low and high corner of the box of each node, (N, 6).
        sides: The sides of its triangles; computed on first use, shared by all refits.

    Raises:
        ArgumentError: there is no face, an index lies outside the vertices, or a coordinate is not finite.
    """

    vertices: Float[np.ndarray, "V 3"]
    faces: Int[np.ndarray, "F 3"]
    order: Int[np.ndarray, " F"]
    slot_of: Int[np.ndarray, " F"]
    first: Int[np.ndarray, " N"]
    count: Int[np.ndarray, " N"]
    slots: Float[np.ndarray, "F 12"]
    bounds: Float[np.ndarray, "N 6"]
    sides: Sides

    def __init__(self, vertices: Points, faces: Faces) -> None:
        if len(faces) == 0:
            raise ArgumentError.of("Tree", "faces", "at least one triangle", "none", "Give a mesh with faces")
        self.vertices, self.faces = (array.copy() for array in flat_mesh("Tree", vertices, faces))
        self.order, first, count, used = build(self.vertices, self.faces)
        self.first, self.count = first[:used].copy(), count[:used].copy()
        self.slot_of = np.zeros(len(self.order), dtype=np.int64)
        self.slot_of[self.order] = np.arange(len(self.order))
        self.slots, self.bounds = refit(self.vertices, self.faces, self.order, self.first, self.count)
        self.sides = Sides(self.faces, len(self.vertices))

    def refit(self, vertices: Points) -> "Tree":
        """The tree of the same triangles with moved vertices; this one stays as it is.

        Queries on it are exact whatever the move; they grow slower only when the triangles are shuffled in space.

        Raises:
            ArgumentError: the number of vertices differs, or a coordinate is not finite.
        """
        if len(vertices) != len(self.vertices):
            raise ArgumentError.of(
                "Tree.refit",
                "vertices",
                f"{len(self.vertices)} rows, as the tree was built with",
                f"{len(vertices)}",
                "Build a new tree for another mesh",
            )
        moved = Tree.__new__(Tree)
        moved.vertices = flat_points("Tree.refit", "vertices", vertices).copy()
        moved.faces, moved.order, moved.slot_of = self.faces, self.order, self.slot_of
        moved.first, moved.count, moved.sides = self.first, self.count, self.sides
        moved.slots, moved.bounds = refit(moved.vertices, self.faces, self.order, self.first, self.count)
        return moved

    @cached_property
    def pseudonormals(
        self,
    ) -> tuple[Float[np.ndarray, "V 3"], Float[np.ndarray, "E 3"], Float[np.ndarray, "F 3"]]:
        """Outward directions at vertices (angle-weighted), sides (sum of both faces) and faces, not of unit length."""
        normals, _ = normals_and_areas(self.vertices, self.faces)
        at_vertices = angle_weighted_sums(self.vertices, self.faces, normals)
        return at_vertices, side_sums(self.sides.of_faces, normals, len(self.sides.edges)), normals
