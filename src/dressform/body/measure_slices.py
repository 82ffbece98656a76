"""Plane sections of a body at many levels at once, sorted into loops, and the tape around them."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import ConvexHull, QhullError, cKDTree

from dressform.arrays import Faces, Points
from dressform.errors import ArgumentError
from dressform.mesh.sections import hull_perimeter, plane_axes

Direction = Float[np.ndarray, "3"]


@dataclass(frozen=True)
class Slices:
    """Straight pieces in which triangles cross parallel planes.

    Attributes:
        normal: Unit normal of the planes, (3,).
        levels: Distance of each plane from the origin along `normal`, rising, (L,).
        pieces: Two ends per piece, (S, 2, 3).
        level: Plane of each piece, (S,).
        face: Triangle of each piece, (S,).
        loop: Connected loop of each piece; a loop belongs to one level, (S,).
        sides: The two vertices between which each end of a piece lies, (S, 2, 2).
        share: How far along from the first of them, 0 to 1, (S, 2).
    """

    normal: Direction
    levels: Float[np.ndarray, " L"]
    pieces: Float[np.ndarray, "S 2 3"]
    level: Int[np.ndarray, " S"]
    face: Int[np.ndarray, " S"]
    loop: Int[np.ndarray, " S"]
    sides: Int[np.ndarray, "S 2 2"]
    share: Float[np.ndarray, "S 2"]

    def keep(self, chosen: Bool[np.ndarray, " S"]) -> "Slices":
        """The same planes with some of the pieces."""
        return Slices(
            self.normal,
            self.levels,
            self.pieces[chosen],
            self.level[chosen],
            self.face[chosen],
            self.loop[chosen],
            self.sides[chosen],
            self.share[chosen],
        )

    def touching(self, faces: Bool[np.ndarray, " F"]) -> Bool[np.ndarray, " S"]:
        """Which pieces belong to a loop that crosses one of the marked triangles, (S,)."""
        count = int(self.loop.max(initial=-1)) + 1
        touched = np.bincount(self.loop[faces[self.face]], minlength=count) > 0
        return touched[self.loop]

    def longest(self) -> "Slices":
        """Only the longest loop of each level."""
        lengths = np.bincount(self.loop, weights=np.linalg.norm(self.pieces[:, 1] - self.pieces[:, 0], axis=1))
        loops, first = np.unique(self.loop, return_index=True)
        order = np.lexsort((lengths[loops], self.level[first]))
        last = np.append(np.diff(self.level[first][order]) > 0, True)[: len(order)]
        return self.keep(np.isin(self.loop, loops[order[last]]))

    def loop_counts(self) -> Int[np.ndarray, " L"]:
        """Number of separate loops of each level, (L,); a loop inside the longest does not count."""
        counts = np.zeros(len(self.levels), dtype=np.int64)
        flat = self.pieces.mean(axis=1) @ plane_axes(self.normal).T
        order = np.lexsort((self.loop, self.level))
        for start, end in _runs(self.level[order]):
            rows = order[start:end]
            loops = [flat[rows[first:last]] for first, last in _runs(self.loop[rows])]
            longest = max(loops, key=lambda points: float(np.ptp(points, axis=0).sum()))
            outside = [
                points for points in loops if not (points is longest or _surrounds(longest, points.mean(axis=0)))
            ]
            counts[self.level[rows[0]]] = 1 + len(outside)
        return counts

    def girths(self) -> Float[np.ndarray, " L"]:
        """Tape around all pieces of each level, (L,), metres: the perimeter of their convex hull; 0 where none is."""
        order = np.argsort(self.level, kind="stable")
        bounds = np.searchsorted(self.level[order], np.arange(len(self.levels) + 1))
        pieces = self.pieces[order]
        return np.array([hull_perimeter(pieces[first:end], self.normal) for first, end in pairwise(bounds)])

    def centres(self) -> Float[np.ndarray, "L 3"]:
        """Centre of gravity of the outline of each level, (L, 3); NaN where no triangle crosses it."""
        lengths = np.linalg.norm(self.pieces[:, 1] - self.pieces[:, 0], axis=1)
        middles = self.pieces.mean(axis=1)
        count = len(self.levels)
        total = np.bincount(self.level, weights=lengths, minlength=count)
        sums = [np.bincount(self.level, weights=lengths * middles[:, axis], minlength=count) for axis in range(3)]
        return np.divide(
            np.stack(sums, axis=1), total[:, None], where=total[:, None] > 0, out=np.full((count, 3), np.nan)
        )


def _runs(labels: Int[np.ndarray, " N"]) -> list[tuple[int, int]]:
    """First and one past the last of each run of equal labels."""
    stops = [*(np.flatnonzero(np.diff(labels)) + 1).tolist(), len(labels)]
    return list(pairwise([0, *stops])) if len(labels) else []


def _surrounds(outline: Float[np.ndarray, "N 2"], point: Float[np.ndarray, "2"]) -> bool:
    """Whether a point lies in the convex hull of an outline."""
    try:
        sides = ConvexHull(outline).equations
    except QhullError:  # fewer than three points, or all on one line
        return False
    return bool((sides[:, :2] @ point + sides[:, 2] < 0).all())


def cut(
    vertices: Points, faces: Faces, normal: Direction, levels: Float[np.ndarray, " L"], *, bridged: float = 0.0
) -> Slices:
    """Cut a mesh by parallel planes.

    A vertex that lies exactly on a plane counts as above it, so that every loop of a closed mesh closes.

    Args:
        vertices: (V, 3), metres.
        faces: (F, 3).
        normal: Unit normal of the planes, (3,).
        levels: Their distances from the origin along `normal`, rising, (L,).
        bridged: Curves whose open ends lie within this distance of each other in a plane are one loop, metres.

    Raises:
        ArgumentError: `levels` do not rise.

    Source: common practice, no source. Cost: O(F log L + S log S).
    Proof: tests/body/test_measure_slices.py::test_every_slice_of_an_elliptic_cylinder_has_the_closed_form_girth
    """
    if np.any(np.diff(levels) <= 0):
        raise ArgumentError.of("cut", "levels", "rising", np.round(levels, 4).tolist(), "Sort the levels")
    heights = vertices @ normal
    # The first level above each vertex; a triangle crosses the levels between its lowest and its highest corner.
    rank = np.searchsorted(levels, heights, "right")
    a, b, c = rank[faces[:, 0]], rank[faces[:, 1]], rank[faces[:, 2]]
    first, last = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    crossing = np.flatnonzero(first < last)
    first, counts = first[crossing], (last - first)[crossing]
    face = np.repeat(crossing, counts)
    level = np.arange(len(face)) - np.repeat(np.cumsum(counts) - counts - first, counts)
    corners, at = faces[face], levels[level]
    above = heights[corners] >= at[:, None]
    # Exactly two of the three sides of a crossing triangle have one end above and one below.
    sides = np.argsort(above == np.roll(above, -1, axis=1), axis=1, kind="stable")[:, :2]
    tails = np.take_along_axis(corners, sides, axis=1)
    heads = np.take_along_axis(corners, (sides + 1) % 3, axis=1)
    # Both triangles of a side must get the same point to the last bit, so the side has one direction for both.
    low_end, high_end = np.minimum(tails, heads), np.maximum(tails, heads)
    share = (at[:, None] - heights[low_end]) / (heights[high_end] - heights[low_end])
    pieces = vertices[low_end] + share[..., None] * (vertices[high_end] - vertices[low_end])
    keys = (level[:, None] * len(vertices) + low_end) * len(vertices) + high_end
    sides_of = np.stack([low_end, high_end], axis=2)
    loop = _loops(keys, pieces, level, bridged)
    return Slices(normal, levels, pieces, level, face, loop, sides_of, share)


def _loops(
    keys: Int[np.ndarray, "S 2"], pieces: Float[np.ndarray, "S 2 3"], level: Int[np.ndarray, " S"], bridged: float
) -> Int[np.ndarray, " S"]:
    """Number of the connected loop of each piece, from the names of its two ends, (S,)."""
    if not len(keys):
        return np.zeros(0, dtype=np.int64)
    names, first, ends, uses = np.unique(keys, return_index=True, return_inverse=True, return_counts=True)
    ends = np.reshape(ends, (-1, 2))
    pairs = ends
    if bridged > 0 and (uses == 1).any():
        loose = np.flatnonzero(uses == 1)
        places, planes = pieces.reshape(-1, 3)[first[loose]], np.repeat(level, 2)[first[loose]]
        near = cKDTree(places).query_pairs(bridged, output_type="ndarray")
        pairs = np.concatenate([ends, loose[near[planes[near[:, 0]] == planes[near[:, 1]]]]])
    graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(names), len(names)))
    labels = connected_components(graph, directed=False)[1]
    return labels[ends[:, 0]].astype(np.int64)


def profile_of(slices: Slices, side: float, middle: float, forward: float) -> Float[np.ndarray, " L"]:
    """How far the outline reaches forward (`forward` 1) or back (-1) on one side, per level, (L,), metres."""
    profile = np.full(len(slices.levels), -np.inf)
    chosen = side * (slices.pieces[..., 0] - middle) >= 0
    depth = np.where(chosen, forward * slices.pieces[..., 2], -np.inf).max(axis=1)
    np.maximum.at(profile, slices.level, depth)
    return profile
