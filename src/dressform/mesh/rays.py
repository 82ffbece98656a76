"""Rays against a mesh: the first hit, and whether anything blocks the ray."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Queries
from dressform.errors import ArgumentError
from dressform.mesh.flat import flat_points
from dressform.mesh.ray_kernels import cast
from dressform.mesh.tree import Tree

Limit = float | Float[np.ndarray, " Q"]


@dataclass(frozen=True)
class Hits:
    """Where rays meet a mesh.

    Attributes:
        faces: The face hit, (Q,); -1 where the ray passes.
        distances: How far along the ray, in lengths of its direction (metres for a unit direction), (Q,); infinite
            where it passes.
    """

    faces: Int[np.ndarray, " Q"]
    distances: Float[np.ndarray, " Q"]

    @property
    def blocked(self) -> Bool[np.ndarray, " Q"]:
        """Whether the ray meets the mesh, (Q,)."""
        return self.faces >= 0


def first_hit(tree: Tree, origins: Queries, directions: Queries, *, near: Limit = 0.0, far: Limit = np.inf) -> Hits:
    """First face that each ray meets at a distance in [near, far], from either side.

    Watertight: a ray through a shared side or corner is never lost between the triangles; which of them is named is
    open. A ray that runs inside the plane of a triangle does not meet that triangle.

    Args:
        tree: The mesh.
        origins: Where the rays start, (Q, 3), metres.
        directions: Where they go, (Q, 3), of any length but 0.
        near: Least distance, in lengths of the direction; one value or one per ray. Keep it above 0 for rays that start
            on the mesh itself.
        far: Greatest distance, as `near`.

    Raises:
        ArgumentError: counts differ, a value is not finite, or a direction is zero; the first such ray is named.

    Source: [Woop2013]. Proof: tests/mesh/test_rays.py::test_rays_through_sides_and_corners_hit
    """
    return _cast("first_hit", tree, origins, directions, near, far, None, False)


def blocked(
    tree: Tree,
    origins: Queries,
    directions: Queries,
    *,
    near: Limit = 0.0,
    far: Limit = np.inf,
    guess_faces: Int[np.ndarray, " Q"] | None = None,
) -> Hits:
    """Whether any face blocks each ray at a distance in [near, far], and one such face.

    The search stops at any blocking face, so `faces` and `distances` need not be those of the first hit.

    Args:
        guess_faces: For each ray a face to test before the others, (Q,), or -1. Pass the answer for the same rays on a
            slightly different shape: most rays then test only one triangle.

    The other arguments and the errors are those of `first_hit`.
    """
    return _cast("blocked", tree, origins, directions, near, far, guess_faces, True)


def _cast(
    function: str,
    tree: Tree,
    origins: Queries,
    directions: Queries,
    near: Limit,
    far: Limit,
    guess_faces: Int[np.ndarray, " Q"] | None,
    any_hit: bool,
) -> Hits:
    starts, ways = flat_points(function, "origins", origins), flat_points(function, "directions", directions)
    if len(starts) != len(ways):
        raise ArgumentError.of(
            function, "directions", f"one row for each of {len(starts)} origins", f"{len(ways)} rows", "Match them"
        )
    still = np.flatnonzero(~ways.any(axis=1))
    if still.size:
        raise ArgumentError.of(function, "directions", "of some length", f"0 at ray {still[0]}", "Drop such rays")
    limits = [np.ascontiguousarray(np.broadcast_to(limit, len(starts)), dtype=np.float64) for limit in (near, far)]
    slots, distances = cast(
        tree.slots, tree.bounds, tree.first, tree.count, starts, ways, *limits,
        _guess_slots(function, tree, len(starts), guess_faces), any_hit,
    )  # fmt: skip
    return Hits(np.where(slots >= 0, tree.order[slots], -1), distances)


def _guess_slots(function: str, tree: Tree, count: int, faces: Int[np.ndarray, " Q"] | None) -> Int[np.ndarray, " Q"]:
    """Slots of the guessed faces, -1 where there is none."""
    if faces is None:
        return np.full(count, -1)
    if len(faces) != count or faces.max(initial=-1) >= len(tree.faces):
        raise ArgumentError.of(
            function,
            "guess_faces",
            f"{count} faces below {len(tree.faces)}, or -1",
            f"{len(faces)} faces up to {faces.max(initial=-1)}",
            "Give one face of this mesh per ray",
        )
    return np.where(faces >= 0, tree.slot_of[faces], -1)
