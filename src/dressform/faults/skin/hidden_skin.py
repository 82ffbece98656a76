"""Hidden skin: the part of the body that a garment covers at the base, by direction."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints
from dressform.faults.kernels.exposed import hidden_points
from dressform.faults.kernels.lines import MAX_SHELLS, OFF_SKIN
from dressform.faults.skin.kept_answers import KeptAnswers
from dressform.lazy import lazy
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.topology import adjacency
from dressform.mesh.tree import Tree

DIRECTIONS = 32
"""Directions in which skin may be seen."""
CONE = 60.0
"""They fill a cone of this half-angle around the skin's normal, degrees."""
NARROW, SECTORS = 6, 6
"""The first directions, about the normal, are asked as one bundle, the others in bundles of a sector each."""
SLACK = 1e-6
"""So much a bundle is wider than its directions, more than the rounding of a frame."""
HIDDEN_SHARE = 0.5
"""Skin counts as hidden where the cloth blocks more than this share of the directions that the body leaves free."""
BESIDE = 0.1
"""Skin farther than this from the garment's box is not hidden by it, metres."""
OFF_BODY = 1e-3
"""The body itself blocks only from this distance on, metres: skin next to a crease is not its own cover."""
NEAR_HALF = 0.5
"""Cloth lies behind skin only within this share of the body's thickness there: the farther half has its own skin.
And only where the line to it hasn't left the body: under a shoulder lies the rest of the sleeve."""


@dataclass(frozen=True)
class HiddenSkin:
    """Skin that a garment hides at the base.

    Attributes:
        vertices: Hidden body vertices, (N,).
        row: Row of each body vertex in the arrays of this class, -1 where it is not hidden, (B,).
        neighbours: A neighbour per hidden vertex that fixes how its directions turn with the skin, (N,).
        covers: Cloth triangle that blocks each direction, -1 where none does, where the body does, or where there is
            cloth behind the skin already, (N, D).
        reaches: How far into the body cloth counts as behind the skin: half the body's thickness along the normal on
            the base body, metres, (N,).
        first: Bounds of the neighbour lists, (B + 1,).
        around: Neighbouring body vertices, one list after another.
        cloth: The garment at the base.
        body: The base body.
        normals: Unit normals of its vertices, (B, 3).
    """

    vertices: Int[np.ndarray, " N"]
    row: Int[np.ndarray, " B"]
    neighbours: Int[np.ndarray, " N"]
    covers: Int[np.ndarray, "N D"]
    reaches: Float[np.ndarray, " N"]
    first: Int[np.ndarray, " B1"]
    around: Int[np.ndarray, " E"]
    cloth: Tree
    body: Tree
    normals: Float[np.ndarray, "B 3"]

    @lazy
    def answers(self) -> KeptAnswers:
        """Whether pieces of skin between hidden vertices and others were hidden too, by their numbers."""
        return KeptAnswers()


def cone_directions() -> Float[np.ndarray, "D 3"]:
    """Unit directions (u, v, n) spread evenly by solid angle over the cone, the first nearest to its axis, (D, 3)."""
    steps = np.arange(DIRECTIONS)
    n = 1.0 - (steps + 0.5) / DIRECTIONS * (1.0 - np.cos(np.radians(CONE)))
    turn = steps * np.pi * (3.0 - np.sqrt(5.0))
    radius = np.sqrt(1.0 - n**2)
    return np.stack([radius * np.cos(turn), radius * np.sin(turn), n], axis=1)


@lru_cache(maxsize=1)
def cone_bundles() -> tuple[np.ndarray, ...]:
    """Directions of the cone in bundles that kernels ask together; the narrowest about the normal first.

    Returns:
        The directions (D, 3); the axis of each bundle (N, 3); the least cosine of its directions to that axis, and last
        that of the whole cone, (N + 1,); bounds of the bundles (N + 1,) in the list of directions (D,).
    """
    cone = cone_directions()
    sectors = 1 + np.floor(np.arctan2(cone[:, 1], cone[:, 0]) / (2 * np.pi) * SECTORS).astype(np.int64) % SECTORS
    sectors[:NARROW] = 0
    members = np.argsort(sectors, kind="stable")
    starts = np.searchsorted(sectors[members], np.arange(SECTORS + 2))
    axes = np.stack([cone[sectors == sector].mean(axis=0) for sector in range(SECTORS + 1)])
    axes[0] = (0.0, 0.0, 1.0)
    axes /= np.linalg.norm(axes, axis=1, keepdims=True)
    cosines = [(cone[sectors == sector] @ axis).min() for sector, axis in enumerate(axes)]
    return cone, axes, np.array([*cosines, cone[:, 2].min()]) - SLACK, starts, members


def hide_skin(cloth: Tree, body: Tree, *, asked: Bool[np.ndarray, " B"] | None = None) -> HiddenSkin:
    """Find the skin that the garment hides at the base, by rays from every body vertex in or near its bounding box.

    Args:
        cloth: The garment.
        body: The body.
        asked: Body vertices to examine; all if left out.
    """
    graph = adjacency(body.faces, len(body.vertices))
    first, around = graph.indptr.astype(np.int64), graph.indices.astype(np.int64)
    normals = vertex_normals(body.vertices, body.faces)
    low, high = cloth.vertices.min(axis=0) - BESIDE, cloth.vertices.max(axis=0) + BESIDE
    boxed = np.all((body.vertices > low) & (body.vertices < high), axis=1)
    usable = boxed & (asked if asked is not None else True) & (np.abs(normals).sum(axis=1) > 0) & (np.diff(first) > 0)
    vertices = np.flatnonzero(usable)
    neighbours = around[first[vertices]]
    frames = skin_frames(body.vertices, normals, vertices, neighbours)
    reaches = NEAR_HALF * thickness(body, body.vertices[vertices], -normals[vertices])
    covers, kept = cover_directions(cloth, body, body.vertices[vertices], frames, reaches)
    row = np.full(len(body.vertices), -1)
    row[vertices[kept]] = np.arange(int(kept.sum()))
    return HiddenSkin(
        vertices[kept], row, neighbours[kept], covers[kept], reaches[kept], first, around, cloth, body, normals
    )


def cover_directions(
    cloth: Tree,
    body: Tree,
    points: Float[np.ndarray, "N 3"],
    frames: Float[np.ndarray, "N 3 3"],
    reaches: Float[np.ndarray, " N"],
) -> tuple[Int[np.ndarray, "N D"], Bool[np.ndarray, " N"]]:
    """The cloth triangle that covers each direction, as in `HiddenSkin`, and whether each point counts as hidden.

    Args:
        cloth: The garment at the base.
        body: The base body.
        points: Points of the skin, (N, 3), metres.
        frames: From `skin_frames`.
        reaches: How far into the body cloth counts as behind the skin, metres, (N,).
    """
    origins = np.repeat(points, DIRECTIONS, axis=0)
    flat = np.einsum("da,nax->ndx", cone_directions(), frames).reshape(-1, 3)
    covers = blocked(cloth, origins, flat, near=OFF_SKIN).faces
    near = np.flatnonzero(np.repeat(covers.reshape(-1, DIRECTIONS).max(axis=1) >= 0, DIRECTIONS))
    closed = np.zeros(len(flat), dtype=bool)
    closed[near] = blocked(body, origins[near], flat[near], near=OFF_BODY).blocked
    near = np.flatnonzero((covers >= 0) & ~closed)
    free = DIRECTIONS - closed.reshape(-1, DIRECTIONS).sum(axis=1)
    behind = first_hit(cloth, origins[near], -flat[near], far=reaches[near // DIRECTIONS])
    near, depths = near[behind.blocked], behind.distances[behind.blocked]
    closed[near] = depths <= thickness(body, origins[near], -flat[near])
    covers = np.where(closed, -1, covers).reshape(-1, DIRECTIONS)
    return covers, (covers >= 0).sum(axis=1) > HIDDEN_SHARE * free


def still_hidden(
    cloth: Tree,
    body: Tree,
    points: Float[np.ndarray, "N 3"],
    frames: Float[np.ndarray, "N 3 3"],
    reaches: Float[np.ndarray, " N"],
) -> Bool[np.ndarray, " N"]:
    """Whether each point counts as hidden, as `cover_directions` has it, in a fraction of the time, (N,).

    Args: As for `cover_directions`.

    Proof: tests/faults/skin/test_exposed.py::test_points_are_hidden_or_not_by_either_search
    """
    return np.asarray(
        hidden_points(
            np.ascontiguousarray(points), frames, reaches, cone_bundles(), OFF_SKIN, OFF_BODY, HIDDEN_SHARE,
            tree_arrays(cloth), tree_arrays(body),
        )
    )  # fmt: skip


def tree_arrays(tree: Tree) -> tuple[np.ndarray, ...]:
    """What kernels need to walk a tree: slots, bounds, first and count."""
    return tree.slots, tree.bounds, tree.first, tree.count


def thickness(
    body: Tree, points: Float[np.ndarray, "N 3"], directions: Float[np.ndarray, "N 3"]
) -> Float[np.ndarray, " N"]:
    """Length of a line from the skin into the body until it leaves, metres, (N,); infinite where it never does.

    The line passes through shells inside the body, such as eyes: each one entered must also be left.
    """
    lengths = np.full(len(points), np.inf)
    reached = np.full(len(points), OFF_SKIN)
    nesting = np.ones(len(points), dtype=np.int64)
    going = np.arange(len(points))
    for _ in range(MAX_SHELLS):
        if not going.size:
            break
        hits = first_hit(body, points[going], directions[going], near=reached[going])
        going, faces, distances = going[hits.blocked], hits.faces[hits.blocked], hits.distances[hits.blocked]
        behind = np.einsum("ni,ni->n", body.slots[body.slot_of[faces], 9:], directions[going]) > 0
        nesting[going] += np.where(behind, -1, 1)
        reached[going] = distances + OFF_SKIN
        out = nesting[going] <= 0
        lengths[going[out]] = distances[out]
        going = going[~out]
    return lengths


def skin_frames(
    points: BodyPoints,
    normals: Float[np.ndarray, "B 3"],
    vertices: Int[np.ndarray, " N"],
    neighbours: Int[np.ndarray, " N"],
) -> Float[np.ndarray, "N 3 3"]:
    """Rows u, v, n of a frame at each vertex that turns with its normal and the edge to a neighbour, (N, 3, 3)."""
    n = normals[vertices]
    u = points[neighbours] - points[vertices]
    u = u - np.einsum("ni,ni->n", u, n)[:, None] * n
    lengths = np.linalg.norm(u, axis=1, keepdims=True)
    helper = np.zeros_like(n)
    helper[np.arange(len(n)), np.argmin(np.abs(n), axis=1)] = 1.0
    across = np.cross(n, helper)
    u = np.where(lengths > 1e-9, u / np.maximum(lengths, 1e-9), across / np.linalg.norm(across, axis=1, keepdims=True))
    return np.stack([u, np.cross(n, u), n], axis=1)
