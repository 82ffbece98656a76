"""Rim step: patches of a morph that move as one stiff piece, with a jump at the rim. A fault of the body."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra

from dressform.arrays import Faces, Points, VertexScalars
from dressform.mesh.geometry import edge_lengths, vertex_areas
from dressform.mesh.topology import edges

MOVED_SHARE = 0.05  # of the farthest move, above which a vertex counts as moved
RIGID_SHARE = 0.2  # of a patch's move, below which a departure from one rigid motion is none
MIN_DIAMETER = 0.03  # metres; smaller patches are no rigid patches
PATCH_SHARE = 0.7  # of the moved area that must lie in rigid patches
MIN_JUMP = 5.0  # times the gradient on both sides of the rim
MAX_STRAIN = 0.05  # inside a rigid patch
RIM_WIDTH = 0.01  # metres; a jump is over within this,
RIM_EDGES = 2.2  # edge lengths from the rim, where the body is coarse
MAX_MISSES = 8  # patches in a row that are no rigid patches; the flattest come first, so no rigid patch will follow
MAX_ROUNDS = 12


@dataclass(frozen=True)
class RigidPatch:
    """A patch that moves as one stiff piece, with a jump at its rim.

    Attributes:
        vertices: Its vertices, (N,).
        area: Its area at the base, m².
        step: Root-mean-square of the jump of the displacement across an edge of the rim, metres.
        spacing: Mean length of the edges of the rim, metres.
        jump: J, mean of jump over length along the edges of the rim.
        inside: Mean gradient along the edges inside.
        outside: Median gradient along the edges beyond the rim.
        strain: Root-mean-square lengthening of the edges inside, a share of length.
    """

    vertices: Int[np.ndarray, " N"]
    area: float
    step: float
    spacing: float
    jump: float
    inside: float
    outside: float
    strain: float


@dataclass(frozen=True)
class RigidPatches:
    """The rigid patches of a morph.

    Attributes:
        rigid_patches: The rigid patches, the flattest first.
        moved_area: Area that the morph moves, m².
        share: Share of that area inside the patches. Where `found` is false, the search ended as soon as that was
            certain, and this is the share found so far.
        found: Whether the morph moves a rigid patch: `share` ≥ 0.7.
    """

    rigid_patches: tuple[RigidPatch, ...]
    moved_area: float
    share: float
    found: bool


def find_rigid_patches(
    vertices: Points,
    faces: Faces,
    delta: Float[np.ndarray, "V 3"],
    *,
    min_diameter: float = MIN_DIAMETER,
) -> RigidPatches:
    """Grow patches of rigid motion over a morph of the body and keep those with a jump at the rim.

    A patch is what is connected with its seed and departs from the patch's own best rotation and shift by less than a
    fifth of its move. It is kept when its diameter exceeds `min_diameter`, its inner edges lengthen by under 5 %, and

        J = mean over edges (i, j) across the rim of |d_i − d_j| / |x_i − x_j|  >  5 max(g_inside, g_outside),

    with the same gradient g inside and beyond the rim. So a bump (steep all over), a limb that turns (steep inside) and
    a limb that is shifted and blended in (steep beyond) are not rigid patches. A jump stays a jump on a finer mesh.

    Args:
        vertices: The body's base body, (V, 3), metres.
        faces: Its triangles, (F, 3).
        delta: Displacement by the morph, (V, 3), metres.
        min_diameter: Diagonal of the smallest rigid patch's box, metres.

    Source: our own; rigid residual [Kabsch1976]. Proof: tests/faults/test_rim_step.py
    """
    case = _Case.of(vertices, faces, delta)
    moved_area = float(case.areas[case.moved].sum())
    free = np.ones(len(vertices), dtype=bool)
    rigid_patches: list[RigidPatch] = []
    in_patches = elsewhere = 0.0
    misses = 0
    while misses < MAX_MISSES and elsewhere <= (1.0 - PATCH_SHARE) * moved_area:
        left = np.flatnonzero(free & case.moved)
        if not left.size:
            break
        patch = case.grown(int(left[np.argmin(case.roughness[left])]), free)
        free &= ~patch
        area = float(case.areas[patch & case.moved].sum())
        rigid_patch = case.judged(patch, min_diameter)
        if rigid_patch is None:
            elsewhere, misses = elsewhere + area, misses + 1
        else:
            rigid_patches.append(rigid_patch)
            in_patches, misses = in_patches + area, 0
    share = in_patches / moved_area if moved_area > 0 else 0.0
    return RigidPatches(tuple(rigid_patches), moved_area, share, share >= PATCH_SHARE)


@dataclass(frozen=True)
class _Case:
    """A morph with data that is used repeatedly.

    The graph holds the length of every edge; `roughness` is the mean gradient around a vertex over its move.
    """

    vertices: Points
    delta: Float[np.ndarray, "V 3"]
    areas: VertexScalars
    graph: csr_array
    pairs: Int[np.ndarray, "E 2"]
    lengths: Float[np.ndarray, " E"]
    jumps: Float[np.ndarray, " E"]
    moved: Bool[np.ndarray, " V"]
    roughness: VertexScalars

    @classmethod
    def of(cls, vertices: Points, faces: Faces, delta: Float[np.ndarray, "V 3"]) -> "_Case":
        pairs = edges(faces)
        lengths = np.maximum(edge_lengths(vertices, pairs), np.finfo(float).tiny)
        jumps = np.linalg.norm(delta[pairs[:, 0]] - delta[pairs[:, 1]], axis=1)
        reach = np.linalg.norm(delta, axis=1)
        moved = reach > max(MOVED_SHARE * float(reach.max(initial=0.0)), np.finfo(float).tiny)
        count = len(vertices)
        ends = pairs.T.ravel()
        slopes = np.bincount(ends, np.tile(jumps / lengths, 2), count) / np.maximum(np.bincount(ends, None, count), 1)
        roughness = np.divide(slopes, reach, out=np.full(count, np.inf), where=moved)
        upper = csr_array(coo_array((lengths, (pairs[:, 0], pairs[:, 1])), shape=(count, count)))
        graph, areas = csr_array(upper + upper.T), vertex_areas(vertices, faces)
        return cls(vertices, delta, areas, graph, pairs, lengths, jumps, moved, roughness)

    def grown(self, seed: int, free: Bool[np.ndarray, " V"]) -> Bool[np.ndarray, " V"]:
        """Grow the patch that moves rigidly around a seed."""
        patch = np.zeros(len(free), dtype=bool)
        patch[seed] = True
        for _ in range(2):
            patch |= (self.graph @ patch.astype(np.float64) > 0) & free
        for _ in range(MAX_ROUNDS):
            size = float(np.sqrt(np.mean((self.delta[patch] ** 2).sum(axis=1))))
            near = free & (self._departure(patch) <= RIGID_SHARE * size)
            near[seed] = True
            members = np.flatnonzero(near)
            labels = connected_components(self.graph[members][:, members], directed=False)[1]
            reached = np.zeros(len(free), dtype=bool)
            reached[members[labels == labels[np.searchsorted(members, seed)]]] = True
            if (reached == patch).all():
                break
            patch = reached
        return patch

    def _departure(self, patch: Bool[np.ndarray, " V"]) -> VertexScalars:
        """How far the morph takes every vertex from where the best rotation and shift of a patch would, metres."""
        points, moved = self.vertices, self.vertices + self.delta
        shares = np.maximum(self.areas[patch], np.finfo(float).tiny)[:, None]
        before, after = ((shares * place[patch]).sum(axis=0) / shares.sum() for place in (points, moved))
        left, _, right = np.linalg.svd((shares * (moved[patch] - after)).T @ (points[patch] - before))
        signs = np.array([1.0, 1.0, 1.0 if np.linalg.det(left @ right) > 0 else -1.0])
        return np.linalg.norm(moved - after - (points - before) @ ((left * signs) @ right).T, axis=1)

    def judged(self, patch: Bool[np.ndarray, " V"], min_diameter: float) -> RigidPatch | None:
        """The rigid patch of these vertices, or None if it does not qualify."""
        ends = patch[self.pairs]
        inner, rim = ends.all(axis=1), ends[:, 0] != ends[:, 1]
        if not inner.any() or not rim.any() or np.linalg.norm(np.ptp(self.vertices[patch], axis=0)) <= min_diameter:
            return None
        gradients = self.jumps / self.lengths
        jump, inside, strain = float(gradients[rim].mean()), float(gradients[inner].mean()), self._strain(inner)
        if jump <= MIN_JUMP * inside or strain >= MAX_STRAIN:
            return None
        spacing, step = float(self.lengths[rim].mean()), float(np.sqrt(np.mean(self.jumps[rim] ** 2)))
        beyond = self._beyond(patch, max(RIM_WIDTH, RIM_EDGES * spacing))
        outside = float(np.median(gradients[beyond])) if beyond.any() else 0.0
        if jump <= MIN_JUMP * outside:
            return None
        members = np.flatnonzero(patch)
        return RigidPatch(members, float(self.areas[patch].sum()), step, spacing, jump, inside, outside, strain)

    def _strain(self, inner: Bool[np.ndarray, " E"]) -> float:
        """Root-mean-square lengthening of some edges."""
        after = edge_lengths(self.vertices + self.delta, self.pairs[inner])
        return float(np.sqrt(np.mean((after / self.lengths[inner] - 1.0) ** 2)))

    def _beyond(self, patch: Bool[np.ndarray, " V"], width: float) -> Bool[np.ndarray, " E"]:
        """Edges that lie farther from the patch than the rim is wide, and no farther than twice that."""
        seeds = np.flatnonzero(patch)
        distance = dijkstra(self.graph, directed=False, indices=seeds, min_only=True, limit=2.0 * width)
        band = (distance > width) & np.isfinite(distance)
        return band[self.pairs].all(axis=1)
