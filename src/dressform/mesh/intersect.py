"""Triangles that cross, and triangles that lie near each other.

The truth about crossings is exact arithmetic: `igl.predicates`. A compiled kernel answers first, in floating point
with Shewchuk's error bound, and passes on only what that bound leaves open (flat on flat, corner on plane); so the
answer is the exact one at a fraction of the time. tests/mesh/test_intersect.py holds both against each other.

Triangles without a usable normal have no surface and cross nothing (exact tests would call them coplanar with every
other triangle and report crossings where there are none).
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Faces, FaceScalars, Points
from dressform.errors import ArgumentError
from dressform.mesh.crossing_kernels import OPEN, YES, classify
from dressform.mesh.exact import faces_cross, neighbours_cross
from dressform.mesh.pair_kernels import candidate_pairs, pair_gaps
from dressform.mesh.tree import Tree

Pairs = Int[np.ndarray, "P 2"]
GAP_ERROR = 2e-8  # √ε: how much a distance of nearly parallel sides may be overrated, as a share of the longest side


@dataclass(frozen=True)
class NearPairs:
    """Pairs of triangles that lie near each other.

    Attributes:
        pairs: Face of the first mesh and face of the second, in rising order, (P, 2).
        lower_bounds: A distance that the two triangles certainly keep, (P,), metres: their distance less all rounding.
    """

    pairs: Pairs
    lower_bounds: Float[np.ndarray, " P"]


def crossing_pairs(tree_a: Tree, tree_b: Tree) -> Pairs:
    """Faces of mesh a and of mesh b that touch or cross, (P, 2), in rising order; exact.

    Source: error bound [Shewchuk1997]; what it leaves open by `exact.faces_cross`.
    Proof: tests/mesh/test_intersect.py::test_crossings_are_those_of_exact_arithmetic
    """
    slots = _candidates(tree_a, tree_b, np.zeros(len(tree_a.faces)), np.zeros(len(tree_b.faces)), False)
    answers = classify(slots, tree_a.slots, tree_b.slots, False, tree_a.order, tree_a.faces)
    sure, left = (
        np.stack([tree_a.order[chosen[:, 0]], tree_b.order[chosen[:, 1]]], axis=1)
        for chosen in (slots[answers == YES], slots[answers == OPEN])
    )
    left = left[faces_cross(tree_a.vertices, tree_a.faces, tree_b.vertices, tree_b.faces, left)]
    return _sorted(np.concatenate([sure, left]))


def self_crossings(vertices: Points, faces: Faces) -> Pairs:
    """Pairs of faces of one mesh that touch or cross, lower face first, in rising order, (P, 2); exact.

    Faces that share corners (by index) do not cross by meeting there: they do where they also pass through each other
    or lie on one another.

    Source: as `crossing_pairs`; what it leaves open by `exact.neighbours_cross`.
    Proof: tests/mesh/test_intersect.py::test_self_crossings_are_those_of_exact_arithmetic
    """
    return tree_self_crossings(Tree(vertices, faces))


def tree_self_crossings(tree: Tree) -> Pairs:
    """As `self_crossings`, for a mesh whose tree is already built."""
    still = np.zeros(len(tree.faces))
    slots = _candidates(tree, tree, still, still, True)
    answers = classify(slots, tree.slots, tree.slots, True, tree.order, tree.faces)
    sure, left = (np.sort(tree.order[slots[answers == answer]], axis=1) for answer in (YES, OPEN))
    left = left[neighbours_cross(tree.vertices, tree.faces, left)]
    return _sorted(np.concatenate([sure, left]))


def near_pairs(
    tree_a: Tree,
    tree_b: Tree,
    distance: float,
    *,
    reach_a: FaceScalars | None = None,
    reach_b: Float[np.ndarray, " E"] | None = None,
) -> NearPairs:
    """All pairs of faces that may be no farther apart than `distance` plus the reach of both faces.

    Complete: every omitted pair is farther apart than that. Returned pairs may exceed the bound by rounding.

    Args:
        tree_a: The first mesh.
        tree_b: The second mesh.
        distance: Common distance, metres.
        reach_a: Reach of each face of the first mesh (for instance how far it can move), (F,), metres; 0 by default.
        reach_b: The same for the second mesh.

    Raises:
        ArgumentError: a distance is negative or not finite, or the counts differ.

    Proof: tests/mesh/test_intersect.py::test_near_pairs_leave_none_out
    """
    radii = [_reach("reach_a", tree_a, reach_a), _reach("reach_b", tree_b, reach_b)]
    if not 0 <= distance < np.inf:
        raise ArgumentError.of("near_pairs", "distance", "finite and at least 0 m", f"{distance:g}", "Give a length")
    slots = _candidates(tree_a, tree_b, radii[0] + distance, radii[1], False)
    gaps, sizes = pair_gaps(slots, tree_a.slots, tree_b.slots)
    bounds = np.maximum(gaps - GAP_ERROR * sizes, 0.0)
    near = bounds <= radii[0][slots[:, 0]] + radii[1][slots[:, 1]] + distance
    pairs = np.stack([tree_a.order[slots[near, 0]], tree_b.order[slots[near, 1]]], axis=1)
    rising = np.lexsort((pairs[:, 1], pairs[:, 0]))
    return NearPairs(pairs[rising], bounds[near][rising])


def _candidates(
    tree_a: Tree, tree_b: Tree, reach_a: FaceScalars, reach_b: Float[np.ndarray, " E"], same: bool
) -> Pairs:
    """Slot pairs whose boxes come within reach."""
    pairs, count = candidate_pairs(
        tree_a.first, tree_a.count, tree_a.bounds, tree_a.slots, reach_a,
        tree_b.first, tree_b.count, tree_b.bounds, tree_b.slots, reach_b, same,
    )  # fmt: skip
    return pairs[:count]


def _reach(argument: str, tree: Tree, reach: Float[np.ndarray, " N"] | None) -> Float[np.ndarray, " N"]:
    """Reach of each slot."""
    if reach is None:
        return np.zeros(len(tree.faces))
    if len(reach) != len(tree.faces) or not (np.isfinite(reach) & (reach >= 0)).all():
        raise ArgumentError.of(
            "near_pairs",
            argument,
            f"{len(tree.faces)} finite lengths of at least 0",
            f"{len(reach)} from {np.min(reach, initial=np.inf):g}",
            "Give one for each face",
        )
    return np.ascontiguousarray(reach[tree.order], dtype=np.float64)


def _sorted(pairs: Pairs) -> Pairs:
    """The pairs in rising order."""
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
