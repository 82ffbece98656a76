"""Where cloth is cut: functions of position that change sign on the line of a seam or an opening."""

import numpy as np
from jaxtyping import Float

from dressform.arrays import Points, VertexScalars

Vector = Float[np.ndarray, "3"]


def unit(vector: Vector) -> Vector:
    """The direction of a vector."""
    return vector / float(np.linalg.norm(vector))


def beyond(points: Points, place: Vector, direction: Vector) -> VertexScalars:
    """How far past the plane through `place` the points lie, along `direction`, metres, (V,)."""
    return (points - place) @ unit(direction)


def beyond_near(points: Points, place: Vector, direction: Vector, *, reach: float) -> VertexScalars:
    """`beyond`, but never past the plane farther than `reach` from the line through `place`: cuts one limb only."""
    past = beyond(points, place, direction)
    aside = np.linalg.norm(points - place - past[:, None] * unit(direction), axis=1)
    return np.minimum(past, reach - aside)


def fade(values: Float[np.ndarray, "*S"], start: float, end: float) -> Float[np.ndarray, "*S"]:
    """Smooth step from 0 at `start` to 1 at `end` (either may be the larger)."""
    share = np.clip((values - start) / (end - start), 0.0, 1.0)
    return share * share * (3 - 2 * share)


def smooth_least(first: VertexScalars, second: VertexScalars, *, blend: float) -> VertexScalars:
    """The smaller of two fields, rounded where they are within `blend` of each other: their smooth union.

    The quadratic blend lowers the field by at most blend/4, so the union only ever grows.
    """
    near = np.maximum(blend - np.abs(first - second), 0.0) / blend
    return np.minimum(first, second) - 0.25 * blend * near * near


def smooth_most(first: VertexScalars, second: VertexScalars, *, blend: float) -> VertexScalars:
    """The larger of two fields, rounded: their smooth intersection."""
    return -smooth_least(-first, -second, blend=blend)
