"""Too few vertices where the body bends: the triangles there split until they can follow the bend."""

import numpy as np
from jaxtyping import Bool

from dressform.causes.case import Case
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.folded import FOLDED
from dressform.faults.graded.inside import INSIDE
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.graded.stretch import STRETCH
from dressform.garment.garment import Garment
from dressform.repair.bisect import Bisected, bisect

WORDS = "the triangles there split until the body does not bend through them"
CURED = tuple(fault.key for fault in (EXPOSED, DEPTH, INSIDE, PUCKER, STRETCH, FOLDED))
"""Faults that cloth has for want of vertices."""
SUNK = 0.002
"""A corner deeper in the body than this on the shape that is looked at has not been kept out, metres."""
FINER = 2.0
"""Triangles are split by so many times what their index asks, as new vertices come nearer to the skin than old ones."""


def matters(case: Case) -> bool:
    """Whether the body bends through a triangle at the cluster."""
    return case.cluster.fault in CURED and bool(failing(case).any())


def failing(case: Case) -> Bool[np.ndarray, " F"]:
    """Triangles with a corner at the cluster through which the body bends, (F,)."""
    return _large(case) & case.near[case.fit.garment.faces].any(axis=1)


def _large(case: Case) -> Bool[np.ndarray, " F"]:
    """Triangles that are too large for the bend: what has sunk in with all its corners lacks room, not vertices."""
    tested = case.resolution
    return tested.failing & (tested.room + case.wearing.margin > -SUNK)


def split(case: Case, garment: Garment) -> Bisected:
    """The patch's mesh with every triangle split through which the body bends."""
    return bisect(garment.vertices, garment.faces, np.where(_large(case), FINER * case.resolution.index, 1.0))
