"""The values from which a fault of a morph is slight, moderate or grave."""

from dataclasses import dataclass

import numpy as np

from dressform.faults.fault import Band
from dressform.faults.results import SEVERITIES


@dataclass(frozen=True)
class AuditBands:
    """Default bands, one per fault; below the first bound there is no finding. `docs/audit.md` gives the reasons.

    Attributes:
        rigid patches: Step at the rim of a rigid patch, metres.
        crossing: Pairs of triangles that newly cross.
        folded: Triangles newly turned over.
        stray: Departure of a single vertex from its neighbours, metres.
        behind: How far a separate piece stays behind the skin beside it, metres.
        islands: Farthest move of a small spot away from all else that moves, metres.
        lopsided: 95th percentile by area of the difference between left and right, metres.
        rough: 99th percentile by area of the pucker index of the moved skin.
        extremity: Area of fingertips, toes and the like that move unlike the limb they sit on, m².
    """

    rigid_patch: Band = (0.0005, 0.002, 0.008)
    crossing: Band = (1.0, 20.0, 200.0)
    folded: Band = (1.0, 10.0, 100.0)
    stray: Band = (0.0005, 0.002, 0.006)
    behind: Band = (0.001, 0.003, 0.010)
    islands: Band = (0.0001, 0.001, 0.005)
    lopsided: Band = (0.001, 0.004, 0.012)
    rough: Band = (0.012, 0.025, 0.05)
    extremity: Band = (0.5e-4, 2e-4, 20e-4)

    def grade(self, fault: str, value: float) -> str:
        """Severity of a value of a fault: the last word whose bound it reaches."""
        bounds: Band = getattr(self, fault)
        return SEVERITIES[int(np.searchsorted(bounds, value, side="right"))]


DEFAULT_AUDIT_BANDS = AuditBands()
