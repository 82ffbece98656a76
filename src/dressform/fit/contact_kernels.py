"""Compiled test of whether a stance closes two places of the skin; see `contact.py`."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

NEARER = 0.99
"""Skin that a stance turns to face other skin has come nearer than this share of the distance at rest."""
CLOSED = np.cos(np.radians(40))
"""Skin that has come nearer than this share has closed, whatever its normals: two places as far from a sharp crease as
each other come that near when it bends by twice 40°. A choice of ours."""
UNDER = 0.02
"""Skin this near to the foot at rest stays under the cloth, metres, however it is pressed together."""
TINY = 1e-300


@jit
@no_type_check
def dot(a: Any, b: Any) -> float:
    """a · b."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@jit
@no_type_check
def way_to(terms: Any, foot: Any, share: Any, face: Any, out: Any) -> None:
    """Terms of the way from a foot to the middle of a face, (M, 3)."""
    for m in range(terms.shape[1]):
        for x in range(3):
            value = 0.0
            for i in range(3):
                value += terms[face[i], m, x] / 3.0 - share[i] * terms[foot[i], m, x]
            out[m, x] = value


@jit
@no_type_check
def at_weights(way: Any, weights: Any, out: Any) -> None:
    """Affine terms at weights, (3,)."""
    for x in range(3):
        value = way[0, x]
        for k in range(len(weights)):
            value += weights[k] * way[k + 1, x]
        out[x] = value


@jit
@no_type_check
def normal_at(terms: Any, face: Any, weights: Any, work: Any, out: Any) -> None:
    """Normal of a face at weights, not of unit length."""
    for i in range(3):
        at_weights(terms[face[i]], weights, work[i])
    u, v = work[1] - work[0], work[2] - work[0]
    out[0], out[1], out[2] = u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]


@jit
@no_type_check
def face_each_other(
    rest: Any, posed: Any, foot: Any, face: Any, now: Any, before: Any, weights: Any, work: Any
) -> bool:
    """Whether the foot's face and another face each other at weights, nearer than at rest. `work` is (7, 3)."""
    way, old, up, toward = work[3], work[4], work[5], work[6]
    at_weights(now, weights, way)
    at_weights(before, weights, old)
    share2 = dot(way, way) / max(dot(old, old), TINY)
    if share2 >= NEARER * NEARER or dot(old, old) < UNDER * UNDER:
        return False
    if share2 < CLOSED * CLOSED:
        return True
    normal_at(posed, foot, weights, work, up)
    normal_at(posed, face, weights, work, toward)
    return dot(up, toward) < 0.0 and dot(up, way) > 0.0 and dot(toward, way) < 0.0


@jit
@no_type_check
def closing(rest: Any, posed: Any, faces: Any, on: Any, shares: Any, others: Any, low: Any, high: Any) -> Any:
    """Whether each foot's face and another close like a book at the base, or at the corner that brings them nearest."""
    found = np.zeros(len(on), dtype=np.bool_)
    amount = rest.shape[1]
    now, before, work = np.zeros((amount, 3)), np.zeros((amount, 3)), np.zeros((7, 3))
    flat, nearest = np.zeros(amount - 1), np.zeros(amount - 1)
    for p in range(len(on)):
        foot, face = faces[on[p]], faces[others[p]]
        way_to(posed, foot, shares[p], face, now)
        way_to(rest, foot, shares[p], face, before)
        found[p] = face_each_other(rest, posed, foot, face, now, before, flat, work)
        if found[p]:
            continue
        for k in range(amount - 1):
            slope = dot(now[k + 1], now[0])
            nearest[k] = low[k] if low[k] * slope < high[k] * slope else high[k]
        found[p] = face_each_other(rest, posed, foot, face, now, before, nearest, work)
    return found
