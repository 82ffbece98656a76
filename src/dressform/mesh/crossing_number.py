"""Winding numbers of a closed mesh along rays: for a few points, faster than the sum over all triangles."""

import numpy as np
from jaxtyping import Float

from dressform.arrays import Queries
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree

WAY = np.array([0.6180339887, 0.3819660113, 0.6864721340]) / np.linalg.norm([0.6180339887, 0.3819660113, 0.6864721340])
"""Along no axis, no diagonal and no plane of symmetry, so that a ray passes through an edge only by accident."""
BEYOND = 1e-7
"""The search goes on so far behind a hit, metres."""
MOST_HITS = 64
"""Surfaces that a ray is followed through."""


def is_closed(tree: Tree) -> bool:
    """Whether every side of every triangle has a neighbour that runs along it the other way."""
    return not tree.sides.balance.any()


def crossing_numbers(tree: Tree, points: Queries) -> Float[np.ndarray, " Q"]:
    """How often a closed mesh winds around each point, (Q,): faces left minus faces entered on a way outward.

    Args:
        tree: The mesh; it must be closed, see `is_closed`.
        points: Positions, (Q, 3), metres.

    Proof: tests/mesh/test_crossing_number.py
    """
    numbers, reached = np.zeros(len(points)), np.zeros(len(points))
    going = np.arange(len(points))
    for _ in range(MOST_HITS):
        if not going.size:
            break
        ways = np.tile(WAY, (len(going), 1))
        hits = first_hit(tree, points[going], ways, near=reached[going])
        going, faces = going[hits.blocked], hits.faces[hits.blocked]
        numbers[going] += np.sign(tree.slots[tree.slot_of[faces], 9:] @ WAY)
        reached[going] = hits.distances[hits.blocked] + BEYOND
    return numbers
