"""Exposed skin: what the garment hid on the base shape and what has come through it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints
from dressform.faults.cloth_inside import ClothSamples
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.topology import adjacency
from dressform.mesh.tree import Tree

DIRECTIONS = 32
"""Directions in which skin may be seen."""
CONE = 60.0
"""They fill a cone of this half-angle around the skin's normal, degrees."""
HIDDEN_SHARE = 0.5
"""Skin counts as hidden where the cloth blocks more than this share of the directions that the body leaves free."""
OFF_SKIN = 1e-4
"""Rays start this far off the skin, metres, so that they don't meet the triangle they leave."""
OFF_BODY = 1e-3
"""The body itself blocks only from this distance on, metres: skin next to a crease is not its own cover."""
SKIN_EDGE = 0.004
"""Skin that the cloth crosses is sampled at pieces with sides of at most this length, metres."""
MOST_PIECES = 6
"""A side is cut into no more pieces than this."""
NEAR_HALF = 0.5
"""Cloth lies behind the skin only within the nearer half of the body's thickness: the other half has its own skin."""


@dataclass(frozen=True)
class HiddenSkin:
    """Skin that a garment hides on the base shape.

    Attributes:
        vertices: Hidden body vertices, (N,).
        row: Row of each body vertex in the arrays of this class, -1 where it is not hidden, (B,).
        neighbours: A neighbour per hidden vertex that fixes how its directions turn with the skin, (N,).
        covers: Cloth triangle that blocks each direction, -1 where none does, where the body does, or where there is
            cloth behind the skin already, (N, D).
        first: Bounds of the neighbour lists, (B + 1,).
        around: Neighbouring body vertices, one list after another.
        cloth: The garment on the base shape.
        body: The base shape.
        normals: Unit normals of its vertices, (B, 3).
    """

    vertices: Int[np.ndarray, " N"]
    row: Int[np.ndarray, " B"]
    neighbours: Int[np.ndarray, " N"]
    covers: Int[np.ndarray, "N D"]
    first: Int[np.ndarray, " B1"]
    around: Int[np.ndarray, " E"]
    cloth: Tree
    body: Tree
    normals: Float[np.ndarray, "B 3"]


def cone_directions() -> Float[np.ndarray, "D 3"]:
    """Unit directions (u, v, n) spread evenly by solid angle over the cone, the first nearest to its axis, (D, 3)."""
    steps = np.arange(DIRECTIONS)
    n = 1.0 - (steps + 0.5) / DIRECTIONS * (1.0 - np.cos(np.radians(CONE)))
    turn = steps * np.pi * (3.0 - np.sqrt(5.0))
    radius = np.sqrt(1.0 - n**2)
    return np.stack([radius * np.cos(turn), radius * np.sin(turn), n], axis=1)


def hide_skin(cloth: Tree, body: Tree) -> HiddenSkin:
    """Find what the garment hides on the base shape, by rays from every body vertex in its box."""
    graph = adjacency(body.faces, len(body.vertices))
    first, around = graph.indptr.astype(np.int64), graph.indices.astype(np.int64)
    normals = vertex_normals(body.vertices, body.faces)
    low, high = cloth.vertices.min(axis=0), cloth.vertices.max(axis=0)
    boxed = np.all((body.vertices > low) & (body.vertices < high), axis=1)
    usable = boxed & (np.abs(normals).sum(axis=1) > 0) & (np.diff(first) > 0)
    vertices = np.flatnonzero(usable)
    neighbours = around[first[vertices]]
    ways = _turned(body.vertices, normals, vertices, neighbours)
    origins = np.repeat(body.vertices[vertices], DIRECTIONS, axis=0)
    flat = ways.reshape(-1, 3)
    covers = blocked(cloth, origins, flat, near=OFF_SKIN).faces
    near = np.flatnonzero(np.repeat(covers.reshape(-1, DIRECTIONS).max(axis=1) >= 0, DIRECTIONS))
    closed = np.zeros(len(flat), dtype=bool)
    closed[near] = blocked(body, origins[near], flat[near], near=OFF_BODY).blocked
    near = np.flatnonzero((covers >= 0) & ~closed)
    behind = _cloth_behind(cloth, body, origins[near], -flat[near])
    free = DIRECTIONS - closed.reshape(-1, DIRECTIONS).sum(axis=1)
    closed[near[behind]] = True
    covers = np.where(closed, -1, covers).reshape(-1, DIRECTIONS)
    kept = (covers >= 0).sum(axis=1) > HIDDEN_SHARE * free
    row = np.full(len(body.vertices), -1)
    row[vertices[kept]] = np.arange(int(kept.sum()))
    return HiddenSkin(vertices[kept], row, neighbours[kept], covers[kept], first, around, cloth, body, normals)


@dataclass(frozen=True)
class ExposedSkin:
    """Skin that has come through the cloth.

    Attributes:
        area: m².
        areas: The part of it around each body vertex, m², (B,).
        hidden_area: Skin hidden on the base shape, measured on this one, m².
    """

    area: float
    areas: Float[np.ndarray, " B"]
    hidden_area: float


def expose_skin(
    hidden: HiddenSkin,
    cloth: Tree,
    body: Tree,
    pairs: Int[np.ndarray, "P 2"],
    samples: ClothSamples,
    normals: Float[np.ndarray, "B 3"],
    areas: Float[np.ndarray, " B"],
) -> ExposedSkin:
    """Skin that the garment hid and that is visible now because it has come through the cloth.

    A direction counts for a sample of hidden skin where the cloth blocked it on the base shape, it now leaves freely,
    past cloth and body, and the same line followed into the body meets cloth that newly lies inside, nearer than half
    way to where the line leaves the body again: the cloth that was before the skin is behind it. A sample counts by
    the share of its once blocked directions that do. So skin that a drifting hem bares is not counted, and where no
    cloth lies inside the body nothing can be.

    Samples are body vertices with their areas, and pieces of at most 4 mm of the triangles that the cloth crosses.
    Only skin near such cloth is looked at: triangles crossed by it, triangles nearest to it, and from there on as far
    as skin has come through.

    Args:
        hidden: From `hide_skin`.
        cloth: The garment on this shape.
        body: The body on this shape.
        pairs: Triangles (cloth, body) that cross, (P, 2).
        samples: Cloth that newly lies inside.
        normals: Unit normals of the body's vertices on this shape.
        areas: Areas of the body's vertices on this shape, m².

    Proof: tests/faults/test_exposed.py::test_one_spike_through_a_coarse_triangle_is_counted
    """
    hidden_area = float(areas[hidden.vertices].sum())
    nothing = np.zeros(len(body.vertices))
    if not len(samples.patches) or not len(hidden.vertices):
        return ExposedSkin(0.0, nothing, hidden_area)
    inside = Tree(samples.patches.reshape(-1, 3), np.arange(3 * len(samples.patches)).reshape(-1, 3))
    scene = _Scene(hidden, cloth, body, normals, inside)
    near = np.zeros(len(cloth.vertices), dtype=bool)
    near[samples.patch_vertices] = True
    crossed = np.unique(pairs[near[cloth.faces[pairs[:, 0]]].any(axis=1), 1])
    seeds = body.faces[np.union1d(crossed, samples.nearest)].ravel()
    through, shares = scene.flood(np.unique(seeds[hidden.row[seeds] >= 0]))
    exposed = nothing.copy()
    exposed[through] = shares * _uncrossed_areas(body, through, crossed)
    pieces = _pieces(body, crossed, hidden)
    points, before = (
        np.einsum("pc,pcx->px", pieces.shares, mesh.vertices[pieces.corners]) for mesh in (body, hidden.body)
    )
    np.add.at(exposed, pieces.vertices, scene.shares(points, pieces.vertices, before=before) * pieces.areas)
    return ExposedSkin(float(exposed.sum()), exposed, hidden_area)


class _Scene:
    """One shape, ready to be asked which skin has come through and which directions are free."""

    def __init__(
        self,
        hidden: HiddenSkin,
        cloth: Tree,
        body: Tree,
        normals: Float[np.ndarray, "B 3"],
        inside: Tree,
    ) -> None:
        self.hidden, self.cloth, self.body, self.normals, self.inside = hidden, cloth, body, normals, inside

    def flood(self, seeds: Int[np.ndarray, " N"]) -> tuple[Int[np.ndarray, " M"], Float[np.ndarray, " M"]]:
        """Hidden vertices that have come through, from the seeds on along edges, and their shares."""
        seen = np.zeros(len(self.body.vertices), dtype=bool)
        found, worth = [np.zeros(0, dtype=np.int64)], [np.zeros(0)]
        front = seeds
        while front.size:
            seen[front] = True
            shares = self.shares(self.body.vertices[front], front)
            through = front[shares > 0]
            found.append(through)
            worth.append(shares[shares > 0])
            first, last = self.hidden.first[through], self.hidden.first[through + 1]
            spans = np.repeat(first - np.cumsum(last - first) + (last - first), last - first)
            onward = np.unique(self.hidden.around[spans + np.arange(len(spans))])
            front = onward[(self.hidden.row[onward] >= 0) & ~seen[onward]]
        return np.concatenate(found), np.concatenate(worth)

    def shares(
        self,
        points: Float[np.ndarray, "N 3"],
        vertices: Int[np.ndarray, " N"],
        *,
        before: Float[np.ndarray, "N 3"] | None = None,
    ) -> Float[np.ndarray, " N"]:
        """Share of the once blocked directions in which each point is seen because it has come through, (N,).

        Points other than vertices take the directions of a hidden vertex next to them; `before` then says where they
        were on the base shape, and what was so there already does not count. The cheap question is asked first: little
        cloth lies inside, so most lines miss all of it.
        """
        hidden = self.hidden
        covers = hidden.covers[hidden.row[vertices]]
        neighbours = hidden.neighbours[hidden.row[vertices]]
        rows, columns = np.nonzero(covers >= 0)
        ways = _turned(self.body.vertices, self.normals, vertices, neighbours)[rows, columns]
        origins, guess = points[rows], covers[rows, columns]
        left = np.flatnonzero(_cloth_behind(self.inside, self.body, origins, -ways))
        left = left[~blocked(self.cloth, origins[left], ways[left], near=OFF_SKIN, guess_faces=guess[left]).blocked]
        left = left[~blocked(self.body, origins[left], ways[left], near=OFF_BODY).blocked]
        if before is not None:
            origins = before[rows[left]]
            ways = _turned(hidden.body.vertices, hidden.normals, vertices, neighbours)[rows[left], columns[left]]
            covered = blocked(hidden.cloth, origins, ways, near=OFF_SKIN, guess_faces=guess[left]).blocked
            left = left[covered & ~_cloth_behind(hidden.cloth, hidden.body, origins, -ways)]
        seen = np.bincount(rows[left], minlength=len(points))
        return seen / np.maximum((covers >= 0).sum(axis=1), 1)


def _cloth_behind(
    cloth: Tree, body: Tree, points: Float[np.ndarray, "N 3"], ways: Float[np.ndarray, "N 3"]
) -> Bool[np.ndarray, " N"]:
    """Whether the line from each point into the body meets the cloth in the nearer half of the body, (N,)."""
    hits = first_hit(cloth, points, ways)
    behind = hits.blocked
    asked = np.flatnonzero(behind)
    limit = hits.distances[asked] / NEAR_HALF + OFF_SKIN
    behind[asked] = ~first_hit(body, points[asked], ways[asked], near=OFF_SKIN, far=limit).blocked
    return behind


def _turned(
    points: BodyPoints,
    normals: Float[np.ndarray, "B 3"],
    vertices: Int[np.ndarray, " N"],
    neighbours: Int[np.ndarray, " N"],
) -> Float[np.ndarray, "N D 3"]:
    """The cone's directions at each vertex, turned with its normal and the edge to a neighbour, (N, D, 3)."""
    n = normals[vertices]
    u = points[neighbours] - points[vertices]
    u = u - np.einsum("ni,ni->n", u, n)[:, None] * n
    lengths = np.linalg.norm(u, axis=1, keepdims=True)
    helper = np.zeros_like(n)
    helper[np.arange(len(n)), np.argmin(np.abs(n), axis=1)] = 1.0
    across = np.cross(n, helper)
    u = np.where(lengths > 1e-9, u / np.maximum(lengths, 1e-9), across / np.linalg.norm(across, axis=1, keepdims=True))
    frames = np.stack([u, np.cross(n, u), n], axis=1)
    return np.einsum("da,nax->ndx", cone_directions(), frames)


def _uncrossed_areas(
    body: Tree, through: Int[np.ndarray, " N"], crossed: Int[np.ndarray, " M"]
) -> Float[np.ndarray, " N"]:
    """Area around each vertex, the triangles that the cloth crosses left out, m², (N,)."""
    mask = np.zeros(len(body.vertices), dtype=bool)
    mask[through] = True
    touched = mask[body.faces].any(axis=1)
    touched[crossed] = False
    return vertex_areas(body.vertices, body.faces[touched])[through]


@dataclass(frozen=True)
class _Pieces:
    """Pieces of the body's triangles: corners of the triangle (N, 3), barycentric middle (N, 3), area (N,) in m², and
    the hidden corner nearest to the middle (N,)."""

    corners: Int[np.ndarray, "N 3"]
    shares: Float[np.ndarray, "N 3"]
    areas: Float[np.ndarray, " N"]
    vertices: Int[np.ndarray, " N"]

    def points(self, body: Tree) -> Float[np.ndarray, "N 3"]:
        """Their middles on a shape, (N, 3), metres."""
        return np.einsum("pc,pcx->px", self.shares, body.vertices[self.corners])


def _pieces(body: Tree, crossed: Int[np.ndarray, " M"], hidden: HiddenSkin) -> _Pieces:
    """Cut the crossed triangles that have a hidden corner into pieces with sides of at most `SKIN_EDGE`."""
    faces = body.faces[crossed]
    faces = faces[(hidden.row[faces] >= 0).any(axis=1)]
    sides = body.vertices[faces] - body.vertices[np.roll(faces, -1, axis=1)]
    longest = np.sqrt((sides**2).sum(axis=2).max(axis=1, initial=0.0))
    areas = 0.5 * np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    orders = np.clip(np.ceil(longest / SKIN_EDGE), 1, MOST_PIECES).astype(np.int64)
    tables = [_middles(order) for order in range(1, MOST_PIECES + 1)]
    corners = np.repeat(faces, orders**2, axis=0)
    shares = np.concatenate([np.zeros((0, 3)), *(tables[order - 1] for order in orders)])
    usable = np.where(hidden.row[corners] >= 0, shares, -1.0)
    vertices = np.take_along_axis(corners, usable.argmax(axis=1)[:, None], axis=1)[:, 0]
    return _Pieces(corners, shares, np.repeat(areas / orders**2, orders**2), vertices)


def _middles(order: int) -> Float[np.ndarray, "P 3"]:
    """Barycentric coordinates of the middles of the order² equal pieces of a triangle, (P, 3)."""
    rows, columns = np.meshgrid(np.arange(order), np.arange(order), indexing="ij")
    up = np.stack([columns, rows], axis=-1)[rows + columns < order]
    down = np.stack([columns, rows], axis=-1)[rows + columns < order - 1]
    inner = np.concatenate([up + 1.0 / 3.0, down + 2.0 / 3.0]) / order
    return np.column_stack([1.0 - inner.sum(axis=1), inner])
