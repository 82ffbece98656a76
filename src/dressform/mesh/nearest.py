"""Closest points on a mesh, and the signed distance to it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Queries
from dressform.errors import ArgumentError
from dressform.mesh.flat import flat_points
from dressform.mesh.nearest_kernels import closest_points, pseudonormal_signs
from dressform.mesh.tree import Tree

DEFAULT_COSINE = 0.0


@dataclass(frozen=True)
class Closest:
    """The closest accepted point of a mesh for each query.

    Attributes:
        points: The points, (Q, 3), metres; NaN where no face was accepted.
        faces: The face that holds each point, (Q,); -1 where none was accepted.
        barycentric: Its coordinates in that face, rows sum to 1, exact zeros on sides and corners, (Q, 3).
        distances: Distance to it, (Q,), metres; infinite where none was accepted.
    """

    points: Float[np.ndarray, "Q 3"]
    faces: Int[np.ndarray, " Q"]
    barycentric: Float[np.ndarray, "Q 3"]
    distances: Float[np.ndarray, " Q"]


def closest(
    tree: Tree,
    queries: Queries,
    *,
    normals: Float[np.ndarray, "Q 3"] | None = None,
    min_cosine: float | None = None,
    start_faces: Int[np.ndarray, " Q"] | None = None,
    within: float = np.inf,
) -> Closest:
    """Closest point of the mesh to each query; exact up to rounding.

    Args:
        tree: The mesh.
        queries: Positions, (Q, 3), metres.
        normals: Unit direction per query, (Q, 3). With it only faces are accepted whose normal n has
            n · direction ≥ `min_cosine`; degenerate faces count as perpendicular to everything.
        min_cosine: Bound for `normals`; 0 where only `normals` are given.
        start_faces: A face near each query if one is known, else -1, (Q,). It makes the search shorter and never
            changes a distance; among faces that share the closest point it may change which is named.
        within: Farther faces are not accepted, metres.

    Raises:
        ArgumentError: a query is not finite, `min_cosine` comes without `normals`, counts differ, or a start face
            is no face of the mesh.

    Source: region test of a triangle [Ericson2005]. Cost: O(Q log F) for queries near the surface.
    Proof: tests/mesh/test_nearest.py::test_closest_equals_brute_force
    """
    flat = flat_points("closest", "queries", queries)
    directions, cosine = _gate(flat, normals, min_cosine)
    start = _start_slots(tree, len(flat), start_faces)
    slots, barycentric, distances2 = closest_points(
        tree.slots, tree.bounds, tree.first, tree.count, flat, directions, cosine, start, float(within) ** 2
    )
    found = slots >= 0
    corners = tree.slots[slots, :9].reshape(-1, 3, 3)
    points = np.einsum("qc,qcx->qx", barycentric, corners)
    points[~found] = np.nan
    return Closest(points, np.where(found, tree.order[slots], -1), barycentric, np.sqrt(distances2))


def signed_clearance(
    tree: Tree,
    queries: Queries,
    *,
    normals: Float[np.ndarray, "Q 3"] | None = None,
    min_cosine: float | None = None,
    start_faces: Int[np.ndarray, " Q"] | None = None,
    within: float = np.inf,
) -> tuple[Float[np.ndarray, " Q"], Closest]:
    """Signed distance to the mesh, (Q,), metres, outward positive, and the closest points used.

    The sign is that of (query − point) · pseudonormal, the angle-weighted normal of the face, side or corner that the
    point lies on: right everywhere around a closed surface that does not cross itself. Where a mesh is open or
    overlaps itself the sign tells the side of the nearest sheet; `inside.winding_numbers` tells the inside.
    Arguments and errors are those of `closest`; NaN where no face was accepted.

    Source: [Baerentzen2005]. Proof: tests/mesh/test_nearest.py::test_clearance_of_a_point_outside_a_sharp_corner
    """
    found = closest(tree, queries, normals=normals, min_cosine=min_cosine, start_faces=start_faces, within=within)
    flat = np.ascontiguousarray(queries, dtype=np.float64)
    signs = pseudonormal_signs(
        tree.faces, tree.sides.of_faces, *tree.pseudonormals, flat, found.points, found.faces, found.barycentric
    )
    return signs * found.distances, found


def _gate(
    queries: Queries, normals: Float[np.ndarray, "Q 3"] | None, min_cosine: float | None
) -> tuple[Queries, float]:
    """Directions and bound for the kernel; without normals a bound that every face passes."""
    if normals is None:
        if min_cosine is not None:
            raise ArgumentError.of(
                "closest", "normals", "given with `min_cosine`", "None", "Give one direction per query"
            )
        return np.zeros_like(queries), -np.inf
    if normals.shape != queries.shape:
        raise ArgumentError.of(
            "closest", "normals", f"one row for each of {len(queries)} queries", f"{len(normals)} rows", "Match them"
        )
    return flat_points("closest", "normals", normals), DEFAULT_COSINE if min_cosine is None else float(min_cosine)


def _start_slots(tree: Tree, count: int, faces: Int[np.ndarray, " Q"] | None) -> Int[np.ndarray, " Q"]:
    """Slots of the start faces, -1 where none is known."""
    if faces is None:
        return np.full(count, -1)
    if len(faces) != count or faces.max(initial=-1) >= len(tree.faces):
        raise ArgumentError.of(
            "closest",
            "start_faces",
            f"{count} faces below {len(tree.faces)}, or -1",
            f"{len(faces)} faces up to {faces.max(initial=-1)}",
            "Give one known face of this mesh per query",
        )
    return np.where(faces >= 0, tree.slot_of[faces], -1)
