"""Cameras: named views that frame the given points, and close-ups of a place."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float

from dressform.arrays import Points
from dressform.errors import ArgumentError

# Degrees round the vertical from the front (+Z), counter-clockwise seen from above: 90 shows the body's own left.
VIEW_AZIMUTHS = {"front": 0.0, "side": 90.0, "back": 180.0, "three-quarter": 35.0}
DEFAULT_ELEVATION = 5.0
DEFAULT_FIELD = 22.0  # degrees, about a portrait lens: little distortion, still some depth
FRAME_MARGIN = 1.06
FRAMING_ROUNDS = 3
CLOSE_UP_NEAR = 0.5  # a close-up drops what lies nearer than this share of its distance: an arm before the ribs


@dataclass(frozen=True)
class Camera:
    """A pinhole or a parallel projection.

    Attributes:
        eye: Where the camera stands, metres, (3,).
        target: The point in the middle of the picture, (3,).
        height: What the picture shows from top to bottom at the target's distance, metres.
        perspective: False for a parallel projection.
        near: Triangles with a corner nearer to the eye than this are left out, metres.
    """

    eye: Float[np.ndarray, "3"]
    target: Float[np.ndarray, "3"]
    height: float
    perspective: bool = True
    near: float = 1e-3

    def axes(self) -> Float[np.ndarray, "3 3"]:
        """Unit vectors right, up and forward, one per row, (3, 3)."""
        forward = (self.target - self.eye) / self.distance
        up = np.array([0.0, 1.0, 0.0]) if abs(forward[1]) < 0.999 else np.array([0.0, 0.0, -np.sign(forward[1])])
        right = np.cross(forward, up)
        right /= np.linalg.norm(right)
        return np.stack([right, np.cross(right, forward), forward])

    @property
    def distance(self) -> float:
        """From the eye to the target, metres."""
        return float(np.linalg.norm(self.target - self.eye))

    def turned(self, degrees: float) -> "Camera":
        """The same camera moved round the target, counter-clockwise seen from above."""
        angle = np.radians(degrees)
        x, y, z = self.eye - self.target
        moved = np.array([x * np.cos(angle) + z * np.sin(angle), y, z * np.cos(angle) - x * np.sin(angle)])
        return replace(self, eye=self.target + moved)

    def project(self, points: Points, *, width: int, height: int) -> Points:
        """Pixel column, pixel row (downward) and depth along the view in metres, (V, 3)."""
        local = (points - self.eye) @ self.axes().T
        depth = local[:, 2]
        scale = height / self.height
        if self.perspective:
            scale = scale * self.distance / np.maximum(depth, self.near)
        return np.stack([width / 2 + scale * local[:, 0], height / 2 - scale * local[:, 1], depth], axis=1)


def from_direction(
    target: Float[np.ndarray, "3"],
    *,
    azimuth: float,
    elevation: float,
    height: float,
    field: float = DEFAULT_FIELD,
    perspective: bool = True,
    near_share: float = 0.01,
) -> Camera:
    """Look at `target` from degrees round the vertical and degrees above the horizon."""
    round_, above = np.radians([azimuth, elevation])
    direction = np.array([np.sin(round_) * np.cos(above), np.sin(above), np.cos(round_) * np.cos(above)])
    distance = height / (2 * np.tan(np.radians(field) / 2))
    return Camera(target + distance * direction, target, height, perspective, near_share * distance)


def framed(
    points: Points,
    view: str,
    *,
    aspect: float,
    elevation: float = DEFAULT_ELEVATION,
    perspective: bool = True,
) -> Camera:
    """The named view of `points`, as large as fits a picture of `aspect` (width over height).

    Raises:
        ArgumentError: there is no such view; the valid names are listed.
    """
    if view not in VIEW_AZIMUTHS:
        raise ArgumentError.of(
            "framed", "view", f"one of {', '.join(VIEW_AZIMUTHS)}", repr(view), "Use one of these names"
        )
    target = (points.min(axis=0) + points.max(axis=0)) / 2
    height = max(float(np.ptp(points, axis=0).max()), 1e-6)
    camera = from_direction(
        target, azimuth=VIEW_AZIMUTHS[view], elevation=elevation, height=height, perspective=perspective
    )
    for _ in range(FRAMING_ROUNDS):
        seen = camera.project(points, width=1, height=1)[:, :2] - 0.5
        low, high = seen.min(axis=0), seen.max(axis=0)
        right, up, _ = camera.axes()
        middle = (low + high) / 2 * height
        target = target + middle[0] * right - middle[1] * up
        height = float(max(high[1] - low[1], (high[0] - low[0]) / aspect)) * height * FRAME_MARGIN
        camera = from_direction(
            target, azimuth=VIEW_AZIMUTHS[view], elevation=elevation, height=height, perspective=perspective
        )
    return camera


def framed_alike(points: Points, views: Sequence[str], *, aspect: float) -> list[Camera]:
    """The named views at one scale, so that pictures side by side compare."""
    cameras = [framed(points, view, aspect=aspect) for view in views]
    height = max(camera.height for camera in cameras)
    return [
        from_direction(camera.target, azimuth=VIEW_AZIMUTHS[view], elevation=DEFAULT_ELEVATION, height=height)
        for view, camera in zip(views, cameras)
    ]


def close_up(
    centre: Float[np.ndarray, "3"], radius: float, *, normal: Float[np.ndarray, "3"] | Sequence[float] = (0.0, 0.0, 1.0)
) -> Camera:
    """A ball of `radius` metres round a place, seen from the side that `normal` points to, from slightly above."""
    azimuth = float(np.degrees(np.arctan2(normal[0], normal[2])))
    level = float(np.hypot(normal[0], normal[2]))
    elevation = float(np.clip(np.degrees(np.arctan2(normal[1], level)), -60.0, 60.0))
    return from_direction(centre, azimuth=azimuth, elevation=elevation, height=2 * radius, near_share=CLOSE_UP_NEAR)
