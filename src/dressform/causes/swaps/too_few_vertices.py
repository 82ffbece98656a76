"""Too few vertices where the body bends: the swap splits the triangles there until they can follow the bend."""

import numpy as np
from jaxtyping import Bool

from dressform.causes.patch import Patch
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


def matters(patch: Patch) -> bool:
    """Whether the body bends through a triangle at the cluster."""
    return patch.cluster.fault in CURED and bool(failing(patch).any())


def failing(patch: Patch) -> Bool[np.ndarray, " F"]:
    """Triangles with a corner at the cluster through which the body bends, (F,)."""
    return _large(patch) & patch.near[patch.fit.garment.faces].any(axis=1)


def _large(patch: Patch) -> Bool[np.ndarray, " F"]:
    """Triangles too large for the bend; one with all its corners inside lacks room, not vertices."""
    tested = patch.resolution
    return tested.failing & (tested.room + patch.worn.margin > -SUNK)


def split(patch: Patch, garment: Garment) -> Bisected:
    """The patch's mesh with every triangle split through which the body bends."""
    return bisect(garment.vertices, garment.faces, np.where(_large(patch), FINER * patch.resolution.index, 1.0))
