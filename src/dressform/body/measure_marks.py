"""Points that follow the skin, and the data that all searches for them share."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints, Faces
from dressform.body.measure_limbs import Limbs
from dressform.body.measure_slices import Direction, Slices, cut

UP = np.array([0.0, 1.0, 0.0])

STEP = 0.005
"""Distance of the planes in a search, of stature."""

BRIDGED = 0.01
"""Parts of a body that are not joined are one outline where their rims come this near, of stature."""


@dataclass(frozen=True)
class Mark:
    """A point as a fixed mixture of body vertices, so that it follows every shape linearly.

    Attributes:
        vertices: (N,).
        shares: They sum to 1, (N,).
    """

    vertices: Int[np.ndarray, " N"]
    shares: Float[np.ndarray, " N"]

    def at(self, points: BodyPoints) -> Float[np.ndarray, "3"]:
        """The point on a shape whose vertices are `points`, (3,)."""
        return self.shares @ points[self.vertices]

    @classmethod
    def of_vertex(cls, vertex: int) -> "Mark":
        """The mark at one vertex."""
        return cls(np.array([vertex]), np.ones(1))

    @classmethod
    def of_outline(cls, slices: Slices) -> "Mark":
        """The mark at the centre of gravity of an outline."""
        lengths = np.linalg.norm(slices.pieces[:, 1] - slices.pieces[:, 0], axis=1)
        return cls._mix(slices, np.repeat(lengths[:, None] / (2.0 * lengths.sum()), 2, axis=1))

    @classmethod
    def of_extreme(cls, slices: Slices, direction: Float[np.ndarray, "3"]) -> "Mark":
        """The point of an outline farthest along a direction."""
        heights = slices.pieces @ direction
        chosen = np.zeros(heights.shape)
        chosen.flat[int(np.argmax(heights))] = 1.0
        return cls._mix(slices, chosen)

    @classmethod
    def _mix(cls, slices: Slices, parts: Float[np.ndarray, "S 2"]) -> "Mark":
        """The ends of the pieces, mixed in the given parts."""
        shares = np.stack([1.0 - slices.share, slices.share], axis=2) * parts[:, :, None]
        vertices, place = np.unique(slices.sides, return_inverse=True)
        mixed = np.bincount(place.ravel(), weights=shares.ravel(), minlength=len(vertices))
        return cls(vertices[mixed != 0], mixed[mixed != 0])


@dataclass(frozen=True)
class Standing:
    """The base body, prepared for searches.

    Attributes:
        vertices: (B, 3).
        faces: All triangles, (F, 3).
        limbs: Arms and legs.
    """

    vertices: BodyPoints
    faces: Faces
    limbs: Limbs

    @cached_property
    def arm_faces(self) -> Bool[np.ndarray, " F"]:
        """Triangles of either arm, (F,)."""
        arms = np.zeros(len(self.faces), dtype=bool)
        for arm in self.limbs.arms.values():
            arms |= arm
        return arms

    @cached_property
    def upper(self) -> Bool[np.ndarray, " F"]:
        """Triangles of the body above the armpits, without the arms, (F,)."""
        high = self.vertices[self.faces, 1].min(axis=1) > self.armpit
        return self.limbs.shell & high & ~self.arm_faces

    @cached_property
    def lowest(self) -> float:
        """Height of the soles, metres."""
        return float(self.vertices[self.faces[self.limbs.shell], 1].min())

    @cached_property
    def stature(self) -> float:
        """Soles to crown, metres."""
        return float(self.vertices[self.faces[self.limbs.shell], 1].max()) - self.lowest

    @property
    def crotch(self) -> float:
        """Height of the crotch in the body's frame, metres; only where the legs were found."""
        assert self.limbs.crotch is not None
        return float(self.vertices[self.limbs.crotch, 1])

    @property
    def armpit(self) -> float:
        """Height of the lower armpit in the body's frame, metres; only where both arms were found."""
        return float(min(self.vertices[vertex, 1] for vertex in self.limbs.armpits.values()))

    def levels(self, low: float, high: float) -> Float[np.ndarray, " L"]:
        """Evenly spaced levels from `low` to `high`, both included, about one search step apart, at least five."""
        return np.linspace(low, high, max(5, 1 + round((high - low) / (STEP * self.stature))))

    def trunk_slices(self, vertices: BodyPoints, levels: Float[np.ndarray, " L"]) -> Slices:
        """Horizontal outlines of the trunk on the shape `vertices`; a trunk that is joined to an arm is left out."""
        slices = self.cut(vertices, UP, levels)
        return slices.keep(slices.touching(self.limbs.shell) & ~slices.touching(self.arm_faces))

    def cut(self, vertices: BodyPoints, normal: Direction, levels: Float[np.ndarray, " L"]) -> Slices:
        """All outlines of the shape `vertices` in planes across `normal`; small gaps between parts are bridged."""
        return cut(vertices, self.faces, normal, levels, bridged=BRIDGED * self.stature)
