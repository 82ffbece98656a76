"""Exposed skin: skin that the garment hid at the base and that has come through it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.skin.cloth_inside import ClothSamples
from dressform.faults.skin.hidden_skin import (
    DIRECTIONS,
    NEAR_HALF,
    OFF_BODY,
    OFF_SKIN,
    HiddenSkin,
    cover_directions,
    skin_frames,
    thickness,
    turned,
)
from dressform.mesh.geometry import face_areas
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.tree import Tree

SKIN_EDGE = 0.004
"""Skin that the cloth crosses is sampled at pieces with sides of at most this length, metres."""
ROUNDS = ((0, 1), (1, 6), (6, 14), (14, 23), (23, DIRECTIONS))
"""Directions, from the skin's normal outward, are asked in these rounds: most seen skin is seen in the first."""
ONE_IN = 4
"""Of the pieces of a triangle this share is asked first at a stance."""
BEFORE, OWN = 0.3, 0.015
"""Cosine and metres: cloth lay before skin where it stood in this cone about its normal, or so near to it."""
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
    own_crossed: Int[np.ndarray, " K"],
    *,
    posed: bool = False,
) -> ExposedSkin:
    """Find skin that the garment hid and that is now visible because it has come through the cloth.

    A direction counts for a sample of hidden skin where the cloth blocked it at the base, it now leaves freely,
    past cloth and body, and the same line followed into the body meets cloth that newly lies inside, nearer than half
    the body's thickness at the base or on this shape: the cloth that was before the skin is behind it. A sample that
    is seen in one such direction is seen, and counts whole. So skin that a drifting hem bares is not counted, and where
    no cloth lies inside the body nothing can be.

    Samples are body vertices with their areas, and pieces of at most 4 mm of the triangles that the cloth crosses, or
    that lie at the rim of the hidden skin.
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
        own_crossed: Body triangles that the cloth crosses at the base.
        posed: Whether this is a stance. Cloth then counts as behind skin only where it lay before it at the base,
            in a cone about its normal or on it: across a crease lies other cloth. And of a triangle's pieces some are
            asked first, the others where one of them is seen: a crease has thousands of pieces that nobody sees.

    Proof: tests/faults/skin/test_show_through.py::test_one_spike_through_a_coarse_triangle_is_counted
    """
    hidden_area = float(areas[hidden.vertices].sum())
    nothing = np.zeros(len(body.vertices))
    if not len(samples.patches) or not len(hidden.vertices):
        return ExposedSkin(0.0, nothing, hidden_area)
    inside = Tree(samples.patches.reshape(-1, 3), np.arange(3 * len(samples.patches)).reshape(-1, 3))
    scene = _Scene(hidden, cloth, body, normals, inside, samples.patch_faces if posed else None)
    crossed = np.unique(pairs[np.isin(pairs[:, 0], samples.patch_faces), 1])
    seeds = body.faces[np.union1d(crossed, samples.nearest)].ravel()
    exposed = nothing.copy()
    through = scene.flood(np.unique(seeds[hidden.row[seeds] >= 0]))
    # Past the last hidden vertex skin is hidden too, by a part of the triangle.
    rim = _rim(body, through, hidden, own_crossed)
    cut = np.union1d(crossed, rim)
    if through.size:
        exposed[through] = _uncut_areas(body, through, cut)
    pieces = _pieces(body, cut, hidden)
    seen = scene.sees_some(pieces) if posed else scene.sees_pieces(pieces)
    np.add.at(exposed, pieces.vertices, np.where(seen, pieces.areas, 0.0))
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
        owners: Int[np.ndarray, " T"] | None,
    ) -> None:
        self.hidden, self.cloth, self.body, self.normals, self.inside = hidden, cloth, body, normals, inside
        self._owners = owners

    def flood(self, seeds: Int[np.ndarray, " N"]) -> Int[np.ndarray, " M"]:
        """Hidden vertices that have come through, from the seeds on along edges, (M,)."""
        asked = np.zeros(len(self.body.vertices), dtype=bool)
        found = [np.zeros(0, dtype=np.int64)]
        front = seeds
        while front.size:
            asked[front] = True
            through = front[self._sees(self.body.vertices[front], front)]
            found.append(through)
            first, last = self.hidden.first[through], self.hidden.first[through + 1]
            spans = np.repeat(first - np.cumsum(last - first) + (last - first), last - first)
            onward = np.unique(self.hidden.around[spans + np.arange(len(spans))])
            front = onward[(self.hidden.row[onward] >= 0) & ~asked[onward]]
        return np.concatenate(found)

    def sees_some(self, pieces: "_Pieces") -> Bool[np.ndarray, " P"]:
        """As `sees_pieces`: of each triangle one piece in `ONE_IN` first, then the others where one of them is seen."""
        order, last = np.arange(len(pieces.areas)), pieces.triangles
        first = order - np.searchsorted(last, last)  # number of each piece within its triangle
        some, seen = first % ONE_IN == 0, np.zeros(len(order), dtype=bool)
        seen[some] = self.sees_pieces(pieces.part(some))
        rest = ~some & np.isin(last, last[seen])
        seen[rest] = self.sees_pieces(pieces.part(rest))
        return seen

    def sees_pieces(self, pieces: "_Pieces") -> Bool[np.ndarray, " P"]:
        """Whether each piece of skin has come through, in the directions of a hidden vertex next to it, (P,).

        Between a hidden vertex and one that was not, a piece is asked for whether it was hidden itself.
        """
        hidden, before = self.hidden, pieces.points(self.hidden.body)
        seen = self._sees(pieces.points(self.body), pieces.vertices, before=before)
        asked = np.flatnonzero(seen & (hidden.row[pieces.corners] < 0).any(axis=1))
        row = hidden.row[pieces.vertices[asked]]
        frames = skin_frames(hidden.body.vertices, hidden.normals, pieces.vertices[asked], hidden.neighbours[row])
        _, kept = cover_directions(hidden.cloth, hidden.body, before[asked], frames, hidden.reaches[row])
        seen[asked] = kept
        return seen

    def _sees(
        self,
        points: Float[np.ndarray, "N 3"],
        vertices: Int[np.ndarray, " N"],
        *,
        before: Float[np.ndarray, "N 3"] | None = None,
    ) -> Bool[np.ndarray, " N"]:
        """Whether each point is seen in at least one of the once blocked directions of its hidden vertex, (N,).

        With its place on the base body given, `before`, the point is asked there too, as it is not that vertex.
        """
        seen, cover = np.zeros(len(points), dtype=bool), np.full(len(points), -1)
        covers = self.hidden.covers[self.hidden.row[vertices]]
        reaches = self._reaches(points, vertices)
        neighbours = self.hidden.neighbours[self.hidden.row[vertices]]
        frames = skin_frames(self.body.vertices, self.normals, vertices, neighbours)
        for first, last in ROUNDS:
            open_ = ~seen[:, None] & (covers >= 0)
            rows, columns = np.nonzero(open_[:, first:last])
            rows, columns = self._leaving(points, vertices, frames, reaches, rows, columns + first, cover)
            if before is not None:
                rows = rows[self._fresh(before[rows], vertices[rows], columns)]
            seen[rows] = True
        return seen

    def _reaches(self, points: Float[np.ndarray, "N 3"], vertices: Int[np.ndarray, " N"]) -> Float[np.ndarray, " N"]:
        """How far into the body cloth counts as behind each point: half its thickness at the base or now, metres, (N,).

        A finger that swells out of a glove is thicker than it was, and so far the cloth may lie behind its skin.
        """
        now = NEAR_HALF * thickness(self.body, points, -self.normals[vertices])
        return np.maximum(self.hidden.reaches[self.hidden.row[vertices]], now)

    def _leaving(
        self,
        points: Float[np.ndarray, "N 3"],
        vertices: Int[np.ndarray, " N"],
        frames: Float[np.ndarray, "N 3 3"],
        reaches: Float[np.ndarray, " N"],
        rows: Int[np.ndarray, " R"],
        columns: Int[np.ndarray, " R"],
        cover: Int[np.ndarray, " N"],
    ) -> tuple[Int[np.ndarray, " S"], Int[np.ndarray, " S"]]:
        """Rows and directions, among those given, that leave freely and have inside cloth behind them.

        The cheapest test that rejects most directions comes first. Cloth that blocks one direction of a point is likely
        to block its others too: `cover` remembers it from one call to the next.
        """
        row = self.hidden.row[vertices]
        origins, directions = points[rows], turned(frames, rows, columns)
        guess = np.where(cover[rows] >= 0, cover[rows], self.hidden.covers[row[rows], columns])
        hits = blocked(self.cloth, origins, directions, near=OFF_SKIN, guess_faces=guess)
        cover[rows[hits.blocked]] = hits.faces[hits.blocked]
        left = np.flatnonzero(~hits.blocked)
        left = left[blocked(self.inside, origins[left], -directions[left], far=reaches[rows[left]]).blocked]
        left = left[~blocked(self.body, origins[left], directions[left], near=OFF_BODY).blocked]
        if self._owners is not None:
            left = left[self._was_before(vertices[rows[left]], origins[left], -directions[left], self._owners)]
        return rows[left], columns[left]

    def _was_before(
        self,
        vertices: Int[np.ndarray, " R"],
        origins: Float[np.ndarray, "R 3"],
        directions: Float[np.ndarray, "R 3"],
        owners: Int[np.ndarray, " T"],
    ) -> Bool[np.ndarray, " R"]:
        """Whether the cloth behind each point lay before its skin at the base, (R,)."""
        hidden = self.hidden
        faces = owners[first_hit(self.inside, origins, directions).faces]
        away = hidden.cloth.vertices[hidden.cloth.faces[faces]].mean(axis=1) - hidden.body.vertices[vertices]
        lengths = np.linalg.norm(away, axis=1)
        return (np.einsum("rx,rx->r", away, hidden.normals[vertices]) > BEFORE * lengths) | (lengths < OWN)

    def _fresh(
        self,
        origins: Float[np.ndarray, "R 3"],
        vertices: Int[np.ndarray, " R"],
        columns: Int[np.ndarray, " R"],
    ) -> Bool[np.ndarray, " R"]:
        """Whether each direction was blocked at the base, and had no cloth behind the skin, (R,)."""
        hidden = self.hidden
        row = hidden.row[vertices]
        frames = skin_frames(hidden.body.vertices, hidden.normals, vertices, hidden.neighbours[row])
        directions = turned(frames, np.arange(len(columns)), columns)
        covered = blocked(
            hidden.cloth, origins, directions, near=OFF_SKIN, guess_faces=hidden.covers[row, columns]
        ).blocked
        return covered & ~blocked(hidden.cloth, origins, -directions, far=hidden.reaches[row]).blocked


def _rim(
    body: Tree, through: Int[np.ndarray, " N"], hidden: HiddenSkin, own_crossed: Int[np.ndarray, " K"]
) -> Int[np.ndarray, " M"]:
    """Triangles with a vertex that has come through of which a part was not hidden at the base."""
    seen = np.zeros(len(body.vertices), dtype=bool)
    seen[through] = True
    bare = (hidden.row[body.faces] < 0).any(axis=1)
    bare[own_crossed] = True
    return np.flatnonzero(seen[body.faces].any(axis=1) & bare)


def _uncut_areas(body: Tree, through: Int[np.ndarray, " N"], cut: Int[np.ndarray, " M"]) -> Float[np.ndarray, " N"]:
    """Area around each vertex, the triangles that are sampled by pieces left out, m², (N,)."""
    areas = face_areas(body.vertices, body.faces)
    areas[cut] = 0.0
    sums = np.bincount(body.faces.ravel(), weights=np.repeat(areas / 3.0, 3), minlength=len(body.vertices))
    return sums[through]


@dataclass(frozen=True)
class _Pieces:
    """Pieces of the body's triangles: corners of the triangle (N, 3), barycentric middle (N, 3), area (N,) in m², the
    hidden corner nearest to the middle (N,), and the number of the triangle (N,), rising."""

    corners: Int[np.ndarray, "N 3"]
    shares: Float[np.ndarray, "N 3"]
    areas: Float[np.ndarray, " N"]
    vertices: Int[np.ndarray, " N"]
    triangles: Int[np.ndarray, " N"]

    def part(self, kept: Bool[np.ndarray, " N"]) -> "_Pieces":
        """Some of them."""
        return _Pieces(
            self.corners[kept], self.shares[kept], self.areas[kept], self.vertices[kept], self.triangles[kept]
        )

    def points(self, body: Tree) -> Float[np.ndarray, "N 3"]:
        """Their middles on a shape, (N, 3), metres."""
        return np.einsum("pc,pcx->px", self.shares, body.vertices[self.corners])


def _pieces(body: Tree, cut: Int[np.ndarray, " M"], hidden: HiddenSkin) -> _Pieces:
    """Cut the given triangles that have a hidden corner into pieces with sides of at most `SKIN_EDGE`."""
    faces = body.faces[cut]
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
    triangles = np.repeat(np.arange(len(faces)), orders**2)
    return _Pieces(corners, shares, np.repeat(areas / orders**2, orders**2), vertices, triangles)


def _middles(order: int) -> Float[np.ndarray, "P 3"]:
    """Barycentric coordinates of the middles of the order² equal pieces of a triangle, (P, 3)."""
    rows, columns = np.meshgrid(np.arange(order), np.arange(order), indexing="ij")
    up = np.stack([columns, rows], axis=-1)[rows + columns < order]
    down = np.stack([columns, rows], axis=-1)[rows + columns < order - 1]
    inner = np.concatenate([up + 1.0 / 3.0, down + 2.0 / 3.0]) / order
    return np.column_stack([1.0 - inner.sum(axis=1), inner])
