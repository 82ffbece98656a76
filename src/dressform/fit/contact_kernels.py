"""Compiled test of whether a stance closes two places of the skin; see `contact.py`."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.geometry_kernels import dot
from dressform.mesh.jit import jit

NEARER = 0.99
"""Skin that a stance turns to face other skin has come nearer than this share of the distance at rest."""
CLOSED = 0.5
"""Skin that has come nearer than this share has closed, however it faces: two places as far from a sharp crease as
each other come that near when it bends by 120°, and skin pressed together by half has creased. A choice of ours."""
UNDER = 0.02
"""Skin this near to the foot at rest stays under the cloth, metres, however it is pressed together."""


@jit
@no_type_check
def middle_of(points: Any, face: Any, out: Any) -> None:
    """Middle of a face, (3,)."""
    for x in range(3):
        out[x] = (points[face[0], x] + points[face[1], x] + points[face[2], x]) / 3.0


@jit
@no_type_check
def place_on(points: Any, face: Any, share: Any, out: Any) -> None:
    """A place of a face by its barycentric coordinates, (3,)."""
    for x in range(3):
        out[x] = share[0] * points[face[0], x] + share[1] * points[face[1], x] + share[2] * points[face[2], x]


@jit
@no_type_check
def normal_of(points: Any, face: Any, out: Any) -> None:
    """Normal of a face, not of unit length, (3,)."""
    u, v = points[face[1]] - points[face[0]], points[face[2]] - points[face[0]]
    out[0], out[1], out[2] = u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]


@jit
@no_type_check
def closes(up: Any, toward: Any, now: Any, before: Any) -> bool:
    """Whether skin has closed: normals at the foot and there, the way to it now and at rest."""
    near, was = dot(now, now), dot(before, before)
    if was < UNDER * UNDER or near >= NEARER * NEARER * was:
        return False
    if near < CLOSED * CLOSED * was:
        return True
    return dot(up, toward) < 0.0 and dot(up, now) > 0.0 and dot(toward, now) < 0.0


@jit
@no_type_check
def closing(rest: Any, posed: Any, faces: Any, on: Any, shares: Any, others: Any) -> Any:
    """Whether each foot's face and another close like a book, (N,)."""
    found = np.zeros(len(on), dtype=np.bool_)
    foot, way, old, up, toward = np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3)
    for p in range(len(on)):
        under, face = faces[on[p]], faces[others[p]]
        middle_of(posed, face, way)
        place_on(posed, under, shares[p], foot)
        way -= foot
        middle_of(rest, face, old)
        place_on(rest, under, shares[p], foot)
        old -= foot
        normal_of(posed, under, up)
        normal_of(posed, face, toward)
        found[p] = closes(up, toward, way, old)
    return found
