"""The implicit body: a smooth union of parts, modelled over by strokes.

A part is a straight axis with an oval section that varies along it (a limb), closed by rounded caps; an axis of
length zero makes an ellipsoid. With d_i the distance to part i, first order in the implicit function, and k_i its
softness, the union is

    f(x) = -k log Σ_i exp(-d_i(x) / k_i),   k = the k_i weighted as in the sum,

positive outside. A stroke then adds a·exp(-(distance to a line of segments / r)²): it pushes the surface in by about
a. A stroke and its mirror image count once, by the nearer of the two. Exponential blending is common practice for
implicit surfaces, no source.
"""

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.arrays import Points, VertexScalars
from dressform.demo import body_field_kernels as kernels

ROWS = 49
"""Samples of a section along an axis."""
BLEND = 1.6
"""Softness lengths over which a part's share of a point falls: the share is exp(-(d / (BLEND k))²), scaled to sum 1."""

CHUNK = 4096
"""So many points are worth a thread."""


@dataclass(frozen=True)
class Field:
    """Arrays that describe the parts (P of them) and the strokes (S segments), metres.

    Attributes:
        parts: Start of the axis, direction of the axis and the two of the section (rows), length, the two caps,
            squareness (2 an ellipse, more is squarer), softness, centre and radius of the ball outside which the
            part is not felt, radius of the part itself, (P, 22).
        section: Offset along the two section directions and the two half-widths, per sample, (P, ROWS, 4).
        strokes: One segment of a stroke each, those of one stroke together: ends, radius, depth, how much the depth
            fades to the stroke's ends (0 to 1), 1 where it also works on the body's other side, number of the
            stroke, where along it the segment starts and how much of it the segment is, centre and radius of the
            ball outside which it is not felt, (S, 17).
    """

    parts: Float[np.ndarray, "P 22"]
    section: Float[np.ndarray, "P R 4"]
    strokes: Float[np.ndarray, "S 17"]


def value(field: Field, points: Points) -> VertexScalars:
    """The field at `points`, (V,): about the signed distance near the surface, positive outside, metres."""
    return _by_point(points, lambda some: kernels.values(some, field.parts, field.section, field.strokes))


def rough(field: Field, points: Points) -> VertexScalars:
    """Distance to the nearest part, without blending or strokes, at any distance, (V,), metres."""
    return _by_point(points, lambda some: kernels.rough(some, field.parts, field.section))


def project(field: Field, points: Points, *, steps: int = 8, longest: float = 0.02) -> Points:
    """Move `points` down the gradient onto the surface by at most `steps` Newton steps, (V, 3).

    A step is never longer than `longest`; points within a nanometre stop early.
    """
    return _by_point(
        points,
        lambda some: kernels.project(some, field.parts, field.section, field.strokes, steps, float(longest)),
    )


def carry(old: Field, new: Field, points: Points, *, widen: float = BLEND) -> Points:
    """Where `points` go when every part of `old` moves to the same part of `new`, (V, 3).

    Each part maps its own coordinates (place along the axis, offset as a share of the section); the images are
    averaged by the shares of the parts.
    """
    return _by_point(
        points,
        lambda some: kernels.carry(some, old.parts, old.section, new.parts, new.section, float(widen)),
    )


def memberships(
    field: Field, points: Points, *, widen: float = BLEND
) -> tuple[Float[np.ndarray, "V P"], Float[np.ndarray, "V P"]]:
    """How much each part owns each point (rows sum to 1), and the place along each axis, metres from its start."""
    return kernels.memberships(np.ascontiguousarray(points), field.parts, field.section, float(widen))


def blended(field: Field, points: Points, numbers: Float[np.ndarray, " P"], *, widen: float = BLEND) -> VertexScalars:
    """A number given per part, at each point the mean by the shares of the parts, (V,)."""
    return _by_point(points, lambda some: kernels.blended(some, field.parts, field.section, float(widen), numbers))


def _by_point(points: Points, of: Callable[[Points], np.ndarray]) -> np.ndarray:
    """What a kernel makes of each point, the points shared out among threads; one point knows nothing of another."""
    count = max(1, min(os.cpu_count() or 1, len(points) // CHUNK))
    chunks = np.array_split(np.ascontiguousarray(points), count)
    if count == 1:
        return of(chunks[0])
    with ThreadPoolExecutor(count) as pool:
        return np.concatenate(list(pool.map(of, chunks)))
