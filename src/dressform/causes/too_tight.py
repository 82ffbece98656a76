"""Too tight by design: cloth that is nearer to the base shape than the margin, let out to just the margin."""

import numpy as np
from jaxtyping import Float

from dressform.arrays import ClothPoints
from dressform.causes.case import Case
from dressform.lift.feet import find_feet

WORDS = "the garment let out until it keeps the margin on the base shape"
CURED = ("exposed", "depth", "inside")
"""Faults that more room can cure: cloth that crumples or stretches would do so farther out as well."""
LEAST_LACK = 0.0002
"""Less than this that is missing says nothing, metres."""


def matters(case: Case) -> bool:
    """Whether some cloth at the cluster lacks room on the base shape, and room could cure the fault."""
    lack = missing(case)
    return case.cluster.fault in CURED and bool(lack > LEAST_LACK)


def missing(case: Case) -> float:
    """How much clearance is missing at the cluster on the base shape, metres; 0 where there is enough."""
    return float(max(case.wearing.margin - case.clearance[case.core].min(initial=np.inf), 0.0))


def moves(case: Case, vertices: ClothPoints) -> Float[np.ndarray, "N 3"]:
    """Each vertex moved outward along the skin's normal by what it lacks, metres.

    No farther: more ease would hide what another cause has done.
    """
    feet = find_feet(case.ground.tree, vertices, case.fit.garment.faces)
    return np.maximum(case.wearing.margin - feet.clearance, 0.0)[:, None] * feet.normals
