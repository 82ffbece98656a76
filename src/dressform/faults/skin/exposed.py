"""Exposed skin: skin that the garment hid at the base and that has come through it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.kernels.exposed import ANYWHERE, seen_points
from dressform.faults.kernels.lines import OFF_SKIN
from dressform.faults.skin.cloth_inside import ClothSamples
from dressform.faults.skin.hidden_skin import (
    NEAR_HALF,
    OFF_BODY,
    HiddenSkin,
    cone_bundles,
    skin_frames,
    still_hidden,
    thickness,
    tree_arrays,
)
from dressform.faults.skin.skin_pieces import SkinPieces, skin_pieces
from dressform.lazy import lazy
from dressform.mesh.geometry import face_areas
from dressform.mesh.tree import Tree

ONE_IN = 4
"""Of the pieces of a triangle this share is asked first at a stance."""
BEFORE, OWN = 0.3, 0.015
"""Cosine and metres: cloth lay before skin where it stood in this cone about its normal, or so near to it."""


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
    scene = _Scene(hidden, cloth, body, normals, inside, samples.patch_faces, BEFORE if posed else ANYWHERE)
    crossed = np.unique(pairs[np.isin(pairs[:, 0], samples.patch_faces), 1])
    seeds = body.faces[np.union1d(crossed, samples.nearest)].ravel()
    exposed = nothing.copy()
    through = scene.flood(np.unique(seeds[hidden.row[seeds] >= 0]))
    # Past the last hidden vertex skin is hidden too, by a part of the triangle.
    rim = _rim(body, through, hidden, own_crossed)
    cut = np.union1d(crossed, rim)
    if through.size:
        exposed[through] = _uncut_areas(body, through, cut)
    pieces = skin_pieces(body, cut, hidden)
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
        owners: Int[np.ndarray, " T"],
        before: float,
    ) -> None:
        self.hidden, self.cloth, self.body, self.normals, self.inside = hidden, cloth, body, normals, inside
        self._owners, self._before = owners, before

    def flood(self, seeds: Int[np.ndarray, " N"]) -> Int[np.ndarray, " M"]:
        """Hidden vertices that have come through, from the seeds on along edges, (M,)."""
        asked = np.zeros(len(self.body.vertices), dtype=bool)
        found = [np.zeros(0, dtype=np.int64)]
        front = seeds
        while front.size:
            asked[front] = True
            through = front[self._sees(self.body.vertices[front], front, front)]
            found.append(through)
            first, last = self.hidden.first[through], self.hidden.first[through + 1]
            spans = np.repeat(first - np.cumsum(last - first) + (last - first), last - first)
            onward = np.unique(self.hidden.around[spans + np.arange(len(spans))])
            front = onward[(self.hidden.row[onward] >= 0) & ~asked[onward]]
        return np.concatenate(found)

    def sees_some(self, pieces: SkinPieces) -> Bool[np.ndarray, " P"]:
        """As `sees_pieces`: of each triangle one piece in `ONE_IN` first, then the others where one of them is seen."""
        order, last = np.arange(len(pieces.areas)), pieces.triangles
        first = order - np.searchsorted(last, last)  # number of each piece within its triangle
        some, seen = first % ONE_IN == 0, np.zeros(len(order), dtype=bool)
        seen[some] = self.sees_pieces(pieces.part(some))
        rest = ~some & np.isin(last, last[seen])
        seen[rest] = self.sees_pieces(pieces.part(rest))
        return seen

    def sees_pieces(self, pieces: SkinPieces) -> Bool[np.ndarray, " P"]:
        """Whether each piece of skin has come through, in the directions of a hidden vertex next to it, (P,).

        Between a hidden vertex and one that was not, a piece is asked for whether it was hidden itself.
        """
        hidden, before = self.hidden, pieces.points(self.hidden.body)
        order = np.lexsort((pieces.vertices, pieces.triangles))
        found = self._sees(
            pieces.points(self.body)[order], pieces.vertices[order], pieces.triangles[order], before=before[order]
        )
        seen = np.zeros(len(order), dtype=bool)
        seen[order] = found
        asked = np.flatnonzero(seen & (hidden.row[pieces.corners] < 0).any(axis=1))
        seen[asked] = hidden.answers.get(pieces.numbers[asked], lambda new: self._hidden_before(pieces, asked[new]))
        return seen

    def _hidden_before(self, pieces: SkinPieces, asked: Int[np.ndarray, " N"]) -> Bool[np.ndarray, " N"]:
        """Whether each of these pieces was hidden at the base; nothing of this shape matters, (N,)."""
        hidden, vertices = self.hidden, pieces.vertices[asked]
        before, row = pieces.points(hidden.body, asked), hidden.row[vertices]
        frames = skin_frames(hidden.body.vertices, hidden.normals, vertices, hidden.neighbours[row])
        return still_hidden(hidden.cloth, hidden.body, before, frames, hidden.reaches[row])

    def _sees(
        self,
        points: Float[np.ndarray, "N 3"],
        vertices: Int[np.ndarray, " N"],
        triangles: Int[np.ndarray, " N"],
        *,
        before: Float[np.ndarray, "N 3"] | None = None,
    ) -> Bool[np.ndarray, " N"]:
        """Whether each point is seen in at least one of the once blocked directions of its hidden vertex, (N,).

        Points of one vertex and triangle that follow each other are asked together. With its place on the base body
        given, `before`, a point is asked there too, as it is not that vertex.
        """
        reaches = self.hidden.reaches[self.hidden.row[vertices]]
        seen = self._seen_within(points, vertices, triangles, before, reaches, 1)
        rest = np.flatnonzero(~seen)
        if rest.size:
            points, vertices = points[rest], vertices[rest]
            before = None if before is None else before[rest]
            reaches = self._reaches(points, vertices)
            seen[rest] = self._seen_within(points, vertices, triangles[rest], before, reaches, len(cone_bundles()[1]))
        return seen

    def _seen_within(
        self,
        points: Float[np.ndarray, "N 3"],
        vertices: Int[np.ndarray, " N"],
        triangles: Int[np.ndarray, " N"],
        before: Float[np.ndarray, "N 3"] | None,
        reaches: Float[np.ndarray, " N"],
        last: int,
    ) -> Bool[np.ndarray, " N"]:
        """The same in the first bundles only, with inside cloth that counts as behind a point up to `reaches`."""
        if not len(points):
            return np.zeros(0, dtype=bool)
        hidden = self.hidden
        starts = np.flatnonzero((np.diff(vertices, prepend=-1) != 0) | (np.diff(triangles, prepend=-1) != 0))
        of = vertices[starts]
        rows = hidden.row[of]
        frames = skin_frames(self.body.vertices, self.normals, of, hidden.neighbours[rows])
        empty, none = np.zeros((0, 3)), np.zeros((0, 3, 3))
        made_on = tree_arrays(hidden.cloth), tree_arrays(hidden.body)
        base = self._corners, hidden.body.vertices[of], hidden.normals[of]
        fresh = (empty, none, np.zeros(0), *made_on)
        if before is not None:
            made = skin_frames(hidden.body.vertices, hidden.normals, of, hidden.neighbours[rows])
            fresh = (before, made, hidden.reaches[rows], *made_on)
        trees = (tree_arrays(tree) for tree in (self.cloth, self.inside, self.body))
        return np.asarray(
            seen_points(
                points, np.append(starts, len(points)), frames, rows, hidden.covers, reaches, cone_bundles(), last,
                (OFF_SKIN, OFF_BODY, self._before, OWN), *trees, base, fresh,
            )
        )  # fmt: skip

    def _reaches(self, points: Float[np.ndarray, "N 3"], vertices: Int[np.ndarray, " N"]) -> Float[np.ndarray, " N"]:
        """How far into the body cloth counts as behind each point: half its thickness at the base or now, metres, (N,).

        A finger that swells out of a glove is thicker than it was, and so far the cloth may lie behind its skin.
        """
        now = NEAR_HALF * thickness(self.body, points, -self.normals[vertices])
        return np.maximum(self.hidden.reaches[self.hidden.row[vertices]], now)

    @lazy
    def _corners(self) -> Float[np.ndarray, "2 T 3 3"]:
        """Corners of the cloth triangle of each slot of `inside`, on this shape and at the base, (2, T, 3, 3)."""
        owners = self._owners[self.inside.order]
        return np.stack([mesh.vertices[mesh.faces[owners]] for mesh in (self.cloth, self.hidden.cloth)])


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
