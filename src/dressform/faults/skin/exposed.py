"""Exposed skin: skin that the garment hid at the base and that has come through it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.faults.skin.cloth_inside import ClothSamples
from dressform.faults.skin.hidden_skin import OFF_BODY, OFF_SKIN, HiddenSkin, skin_frames, turned
from dressform.mesh.geometry import face_areas
from dressform.mesh.rays import blocked
from dressform.mesh.tree import Tree

SKIN_EDGE = 0.004
"""Skin that the cloth crosses is sampled at pieces with sides of at most this length, metres."""
TURNS = 4
"""Each of so many pieces asks another part of the directions."""
MAX_PIECES = 6
"""A side is cut into no more pieces than this."""


@dataclass(frozen=True)
class ExposedSkin:
    """Skin that has come through the cloth.

    Attributes:
        area: m².
        areas: The part of it around each body vertex, m², (B,).
        hidden_area: Skin hidden at the base, measured on this one, m².
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
    """Find skin that the garment hid and that is now visible because it has come through the cloth.

    A direction counts for a sample of hidden skin where the cloth blocked it at the base, it now leaves freely,
    past cloth and body, and the same line followed into the body meets cloth that newly lies inside, nearer than half
    the body's thickness at the base: the cloth that was before the skin is behind it. A sample counts by the
    share of its once blocked directions that do. So skin that a sliding hem bares is not counted, and where no cloth
    lies inside the body nothing can be.

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

    Proof: tests/faults/skin/test_show_through.py::test_one_spike_through_a_coarse_triangle_is_counted
    """
    hidden_area = float(areas[hidden.vertices].sum())
    nothing = np.zeros(len(body.vertices))
    if not len(samples.patches) or not len(hidden.vertices):
        return ExposedSkin(0.0, nothing, hidden_area)
    inside = Tree(samples.patches.reshape(-1, 3), np.arange(3 * len(samples.patches)).reshape(-1, 3))
    scene = _Scene(hidden, cloth, body, normals, inside)
    crossed = np.unique(pairs[np.isin(pairs[:, 0], samples.patch_faces), 1])
    seeds = body.faces[np.union1d(crossed, samples.nearest)].ravel()
    exposed = nothing.copy()
    through, shares = scene.flood(np.unique(seeds[hidden.row[seeds] >= 0]))
    if through.size:
        exposed[through] = shares * _uncrossed_areas(body, through, crossed)
    pieces = _pieces(body, crossed, hidden)
    np.add.at(exposed, pieces.vertices, scene.piece_shares(pieces) * pieces.areas)
    return ExposedSkin(float(exposed.sum()), exposed, hidden_area)


class _Scene:
    """One shape, prepared for finding which skin has come through and which directions are free."""

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

    def shares(self, points: Float[np.ndarray, "N 3"], vertices: Int[np.ndarray, " N"]) -> Float[np.ndarray, " N"]:
        """Share of the once blocked directions in which each vertex is seen because it has come through, (N,)."""
        covers = self.hidden.covers[self.hidden.row[vertices]]
        rows, _ = self._seen(points, vertices, covers)
        return np.bincount(rows, minlength=len(points)) / np.maximum((covers >= 0).sum(axis=1), 1)

    def piece_shares(self, pieces: "_Pieces") -> Float[np.ndarray, " P"]:
        """The same for pieces of skin, with the directions of a hidden vertex next to each.

        Pieces are many and small, so each tests every fourth direction, and four consecutive pieces test them all.
        A direction that was free at the base, or had cloth behind the skin there already, does not count.
        """
        hidden = self.hidden
        covers = hidden.covers[hidden.row[pieces.vertices]]
        turns = (np.arange(len(covers))[:, None] + np.arange(covers.shape[1])) % TURNS == 0
        covers = np.where(turns, covers, -1)
        rows, columns = self._seen(pieces.points(self.body), pieces.vertices, covers)
        neighbours = hidden.neighbours[hidden.row[pieces.vertices]]
        frames = skin_frames(hidden.body.vertices, hidden.normals, pieces.vertices, neighbours)
        origins, directions = pieces.points(hidden.body)[rows], turned(frames, rows, columns)
        was_covered = blocked(
            hidden.cloth, origins, directions, near=OFF_SKIN, guess_faces=covers[rows, columns]
        ).blocked
        reach = hidden.reaches[hidden.row[pieces.vertices[rows]]]
        fresh = was_covered & ~blocked(hidden.cloth, origins, -directions, far=reach).blocked
        return np.bincount(rows[fresh], minlength=len(covers)) / np.maximum((covers >= 0).sum(axis=1), 1)

    def _seen(
        self, points: Float[np.ndarray, "N 3"], vertices: Int[np.ndarray, " N"], covers: Int[np.ndarray, "N D"]
    ) -> tuple[Int[np.ndarray, " R"], Int[np.ndarray, " R"]]:
        """Rows and directions, among those with a cover, that leave freely and have inside cloth behind them.

        The cheapest test that rejects most directions comes first.
        """
        neighbours = self.hidden.neighbours[self.hidden.row[vertices]]
        rows, columns = np.nonzero(covers >= 0)
        frames = skin_frames(self.body.vertices, self.normals, vertices, neighbours)
        origins, directions, guess = points[rows], turned(frames, rows, columns), covers[rows, columns]
        reach = self.hidden.reaches[self.hidden.row[vertices[rows]]]
        left = np.flatnonzero(blocked(self.inside, origins, -directions, far=reach).blocked)
        left = left[
            ~blocked(self.cloth, origins[left], directions[left], near=OFF_SKIN, guess_faces=guess[left]).blocked
        ]
        left = left[~blocked(self.body, origins[left], directions[left], near=OFF_BODY).blocked]
        return rows[left], columns[left]


def _uncrossed_areas(
    body: Tree, through: Int[np.ndarray, " N"], crossed: Int[np.ndarray, " M"]
) -> Float[np.ndarray, " N"]:
    """Area around each vertex, the triangles that the cloth crosses left out, m², (N,)."""
    areas = face_areas(body.vertices, body.faces)
    areas[crossed] = 0.0
    sums = np.bincount(body.faces.ravel(), weights=np.repeat(areas / 3.0, 3), minlength=len(body.vertices))
    return sums[through]


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
    orders = np.clip(np.ceil(longest / SKIN_EDGE), 1, MAX_PIECES).astype(np.int64)
    tables = [_middles(order) for order in range(1, MAX_PIECES + 1)]
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
