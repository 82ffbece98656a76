"""Cloth in the skin of the base body: on one side, as where it was cut too tight, or on both sides and far around."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError, cKDTree
from scipy.spatial.distance import pdist

from dressform.body.body import Body
from dressform.garment.garment import Garment
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

IN_SKIN = 0.001
"""Cloth deeper in the skin than this lies in it, metres."""
MIRROR_REACH = 0.02
"""Cloth this near to the mirror image of a point is there, metres."""
ALIKE, WIDE = 0.9, 0.25
"""On both sides alike is what has so much of its mirror image in the skin, too; it is spread where it reaches over more
than this, metres: a place that was cut too tight is smaller."""


@dataclass(frozen=True)
class Sunk:
    """How the cloth that lies in the skin of the base body lies there.

    Attributes:
        alike: Share of it whose mirror image lies in the skin, too, 0 to 1; 0 where there is none.
        width: Largest distance between two points of it, metres.
    """

    alike: float
    width: float

    @property
    def is_spread(self) -> bool:
        """Whether it lies on both sides alike, and far around."""
        return self.alike >= ALIKE and self.width >= WIDE


def find_sunk(body: Body, garment: Garment) -> Sunk:
    """Cloth in the skin of the base body, compared with its mirror image across the body's middle.

    Proof: tests/infer/test_sunk.py
    """
    points = garment.vertices
    clearance, _ = signed_clearance(Tree(body.vertices, body.faces), points)
    sunk = points[clearance < -IN_SKIN]
    if not len(sunk):
        return Sunk(0.0, 0.0)
    middle = 0.5 * float(body.vertices[:, 0].min() + body.vertices[:, 0].max())
    away, there = cKDTree(points).query(sunk * [-1.0, 1.0, 1.0] + [2.0 * middle, 0.0, 0.0])
    return Sunk(float(((away < MIRROR_REACH) & (clearance[there] < -IN_SKIN)).mean()), _width(sunk))


def _width(points: np.ndarray) -> float:
    """Largest distance between two points, metres."""
    try:
        outer = points[ConvexHull(points).vertices]
    except (QhullError, ValueError):  # fewer than four, or all in one plane
        outer = points
    return float(pdist(outer).max(initial=0.0))
