"""Loose cloth round a limb or the trunk: convex sections along a straight axis, held as support functions.

A section's support H(θ) = max over its points of x·n(θ). Room c all round is H + c exactly, its tape-measure ease
2πc exactly (Steiner); the convex hull of two sections is the larger support; cloth that hangs from where it is
widest is a running maximum along the axis. [Schneider2014]
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import no_type_check

import numpy as np
from jaxtyping import Float
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from dressform.arrays import Points
from dressform.errors import MeshError
from dressform.mesh.jit import jit

DIRECTIONS = 96
FINE_ANGLES = 1440  # radii from which an even outline is taken
STATION = 0.01  # metres between sections
WINDOW = 2  # sections on either side whose points count too, so that sparse bodies leave no gap


@dataclass(frozen=True)
class Tube:
    """Convex sections along an axis.

    Attributes:
        origin: Where the axis starts, (3,).
        frame: Rows: the two directions across and the unit axis, (3, 3).
        support: H per station and direction, metres, (S, D).
    """

    origin: Float[np.ndarray, "3"]
    frame: Float[np.ndarray, "3 3"]
    support: Float[np.ndarray, "S D"]

    @classmethod
    def round_points(
        cls,
        points: Points,
        start: Float[np.ndarray, "3"],
        end: Float[np.ndarray, "3"],
        *,
        front: Float[np.ndarray, "3"],
    ) -> "Tube":
        """Sections of the points between two ends of an axis, `front` giving the direction of angle 0.

        Where the points end before the axis does, the last section goes on.

        Raises:
            MeshError: no point lies beside the axis, or a stretch in the middle has none.
        """
        along = end - start
        length = float(np.linalg.norm(along))
        axis = along / length
        across = np.cross(axis, front)
        across /= np.linalg.norm(across)
        frame = np.stack([np.cross(across, axis), across, axis])
        local = (points - start) @ frame.T
        count = int(np.ceil(length / STATION)) + 1
        support = np.full((count, DIRECTIONS), -np.inf)
        station = np.round(local[:, 2] / STATION).astype(int)
        kept = (station >= 0) & (station < count)
        reach = local[kept, :2] @ _directions().T
        np.maximum.at(support, station[kept], reach)
        support = maximum_filter1d(support, 2 * WINDOW + 1, axis=0, mode="nearest")
        held = np.flatnonzero(np.isfinite(support[:, 0]))
        if held.size == 0 or held.size != held[-1] - held[0] + 1:
            raise MeshError(
                f"Tube.round_points: the body must have points all along the axis, got {held.size} of {count} stations "
                "with any. Choose another axis."
            )
        support = support[np.clip(np.arange(count), held[0], held[-1])]
        return cls(start.astype(float), frame, support)

    @property
    def stations(self) -> Float[np.ndarray, " S"]:
        """Distance of each section from the start, metres, (S,)."""
        return STATION * np.arange(len(self.support))

    @property
    def angles(self) -> Float[np.ndarray, " D"]:
        """Angle of each direction, radians from the front, (D,)."""
        return 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS

    def with_room(self, room: float | Float[np.ndarray, "S D"] | Float[np.ndarray, "S 1"]) -> "Tube":
        """Clearance added all round, or per station, or per station and direction."""
        return replace(self, support=self.support + room)

    def hanging(self) -> "Tube":
        """Every section holds all that come before it along the axis: cloth falls straight from where it is widest."""
        return replace(self, support=np.maximum.accumulate(self.support, axis=0))

    def smoothed(self, *, along: float, round_: float = 0.0) -> "Tube":
        """Gaussian smoothing of the support along the axis (metres) and round it (radians)."""
        support = gaussian_filter1d(self.support, along / STATION, axis=0, mode="nearest")
        if round_ > 0:
            support = gaussian_filter1d(support, round_ * DIRECTIONS / (2 * np.pi), axis=1, mode="wrap")
        return replace(self, support=support)

    def mapped(self, change: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> "Tube":
        """Add `change(stations (S, 1), angles (1, D))`, whatever its shape broadcasts to, to the support."""
        return replace(self, support=self.support + change(self.stations[:, None], self.angles[None, :]))

    def ring(self, station: float, count: int, *, wave: Callable[[np.ndarray], np.ndarray] | None = None) -> Points:
        """The outline of one section, `count` points evenly round it from the front, (count, 3).

        Args:
            station: Distance from the start, metres.
            count: Number of points.
            wave: Metres added to the radius, a function of the angle (radians).
        """
        place = min(max(station / STATION, 0.0), len(self.support) - 1.0)
        row = min(int(place), len(self.support) - 2)
        support = self.support[row] + (place - row) * (self.support[row + 1] - self.support[row])
        angle = 2 * np.pi * np.arange(FINE_ANGLES) / FINE_ANGLES
        cosine = np.cos(angle[:, None] - self.angles[None, :])
        radius = np.where(cosine > 0.05, support / np.maximum(cosine, 0.05), np.inf).min(axis=1)
        if wave is not None:
            radius = radius + wave(angle)
        flat = radius[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        closed = np.concatenate([flat, flat[:1]])
        length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
        wanted = length[-1] * np.arange(count) / count
        even = np.stack([np.interp(wanted, length, closed[:, axis]) for axis in (0, 1)], axis=1)
        return self.origin + even @ self.frame[:2] + station * self.frame[2]

    def place(self, points: Points) -> tuple[Float[np.ndarray, " V"], Float[np.ndarray, " V"]]:
        """Distance along the axis, metres, and angle round it from the front, radians, of points, each (V,)."""
        local = (points - self.origin) @ self.frame.T
        return local[:, 2], np.arctan2(local[:, 1], local[:, 0])

    def distance(self, points: Points) -> Float[np.ndarray, " V"]:
        """How far outside the sections the points lie, negative inside, metres, (V,).

        Beyond either end the last section goes on straight; `capped` closes the tube.
        """
        local = np.ascontiguousarray((points - self.origin) @ self.frame.T)
        return _farthest(local, self.support, _directions(), STATION)

    def capped(self, points: Points, *, before: float = 0.0, after: float = 0.0) -> Float[np.ndarray, " V"]:
        """`distance`, closed by planes `before` the start and `after` the end, (V,)."""
        along = (points - self.origin) @ self.frame[2]
        end = STATION * (len(self.support) - 1)
        return np.maximum(self.distance(points), np.maximum(-before - along, along - end - after))


def _directions() -> Float[np.ndarray, "D 2"]:
    angles = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    return np.stack([np.cos(angles), np.sin(angles)], axis=1)


@jit
@no_type_check
def _farthest(local, support, directions, step):
    result = np.zeros(len(local))
    last = len(support) - 1
    for point in range(len(local)):
        place = min(max(local[point, 2] / step, 0.0), float(last))
        row = min(int(place), max(last - 1, 0))
        share = place - row
        far = -1e9
        for way in range(len(directions)):
            reach = local[point, 0] * directions[way, 0] + local[point, 1] * directions[way, 1]
            edge = (1.0 - share) * support[row, way] + share * support[min(row + 1, last), way]
            far = max(far, reach - edge)
        result[point] = far
    return result
