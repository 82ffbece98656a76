"""Fingertips, toes and the like: places where loose cloth rests on a single point."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import diags_array

from dressform.arrays import VertexScalars
from dressform.audit.skin import AuditedSkin
from dressform.lift.feet import Feet
from dressform.lift.motion import local_motion
from dressform.mesh.factor import Factor
from dressform.mesh.laplacian import cotangent
from dressform.repair.whole.footprint import curvature_tensors, footprints, growth_factors
from dressform.repair.whole.whole_pieces import BOTH_WAYS, MIN_FOOTPRINT

CLEARANCE = 0.02  # metres: a loose glove, a boot
LIMB = 0.05  # metres over which the motion of the limb around an extremity is averaged
OWN_MOTION = 0.25  # radians of turn, or lengthening per length, that a tip has beyond that of its limb


@dataclass(frozen=True)
class Extremities:
    """The tips of the body, with the matrix that averages over the limb around them.

    Attributes:
        tips: Vertices under which cloth 2 cm away would stand on less than a fifth of its own area, (B,).
        even: Solves one step of heat flow over `LIMB`.
        mass: Area of each vertex, m², (B,).
    """

    tips: Bool[np.ndarray, " B"]
    even: Factor
    mass: VertexScalars

    @classmethod
    def of(cls, skin: AuditedSkin) -> "Extremities":
        """Find the tips of a base body."""
        count = len(skin.vertices)
        corners = np.zeros(count, dtype=np.int64)
        corners[skin.faces] = np.arange(len(skin.faces))[:, None]
        clearance = np.full(count, CLEARANCE)
        own_corner = (skin.faces[corners] == np.arange(count)[:, None]).astype(np.float64)
        feet = Feet(skin.vertices, corners, own_corner, clearance, skin.normals)
        factors = growth_factors(feet, curvature_tensors(skin.vertices, skin.faces))
        tips = (footprints(factors) < MIN_FOOTPRINT) & (factors[:, 0] >= BOTH_WAYS)
        mass = np.maximum(skin.areas, 1e-3 * float(skin.areas.mean()))
        even = Factor(diags_array(mass) + LIMB**2 * cotangent(skin.vertices, skin.faces))
        return cls(tips, even, mass)

    def own_motion(self, skin: AuditedSkin, deltas: Float[np.ndarray, "B 3"]) -> VertexScalars:
        """How far turn and stretch of each vertex depart from those of the limb around it, (B,).

        √(|ω − ω̄|² + (s − s̄)²), where ω̄ and s̄ are turn and stretch after heat flow over 5 cm. So a limb that turns
        or grows as a whole, its tips with it, departs from nothing.
        """
        turn, stretch = local_motion(skin.vertices, skin.faces, deltas)
        motion = np.column_stack([turn, stretch])
        return np.linalg.norm(motion - self.even.solve(self.mass[:, None] * motion), axis=1)
