"""Compiled separation of two triangles: the closest points of two that do not touch."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.geometry_kernels import dot
from dressform.mesh.jit import jit

TINY = 1e-300


@jit
@no_type_check
def segment_gap(p: Any, q: Any, r: Any, s: Any, gap: Any) -> float:
    """Vector from segment rs to segment pq where they are closest, into `gap`; returns its squared length.

    Source: closest points of two segments [Ericson2005].
    """
    u, v, w = q - p, s - r, p - r
    a, e, f = dot(u, u), dot(v, v), dot(v, w)
    b, c = dot(u, v), dot(u, w)
    denominator = a * e - b * b
    x = 0.0
    if denominator > TINY:
        x = min(max((b * f - c * e) / denominator, 0.0), 1.0)
    y = (b * x + f) / e if e > TINY else 0.0
    if y < 0.0 or y > 1.0:
        y = min(max(y, 0.0), 1.0)
        x = min(max((b * y - c) / a, 0.0), 1.0) if a > TINY else 0.0
    for k in range(3):
        gap[k] = w[k] + x * u[k] - y * v[k]
    return dot(gap, gap)


@jit
@no_type_check
def plane_gap(p: Any, triangle: Any, gap: Any) -> float:
    """Vector from a triangle to point p where the closest point is inside the triangle, else infinite length."""
    u, v, w = triangle[1] - triangle[0], triangle[2] - triangle[0], p - triangle[0]
    uu, uv, vv, wu, wv = dot(u, u), dot(u, v), dot(v, v), dot(w, u), dot(w, v)
    denominator = uu * vv - uv * uv
    if denominator <= TINY:
        return np.inf
    s, t = (vv * wu - uv * wv) / denominator, (uu * wv - uv * wu) / denominator
    if s < 0.0 or t < 0.0 or s + t > 1.0:
        return np.inf
    for k in range(3):
        gap[k] = w[k] - s * u[k] - t * v[k]
    return dot(gap, gap)


@jit
@no_type_check
def triangle_gap(a: Any, b: Any, best: Any) -> float:
    """Vector from triangle b to triangle a, (3, 3) each, where they are closest, into `best`; returns its length.

    Two triangles that do not cross are closest at two sides, or at a corner of one and the inside of the other.
    For triangles that cross, the length is that of some gap between their outlines and separates nothing.
    """
    gap = np.zeros(3)
    least = np.inf
    for i in range(3):
        for j in range(3):
            length2 = segment_gap(a[i], a[(i + 1) % 3], b[j], b[(j + 1) % 3], gap)
            if length2 < least:
                least = length2
                best[:] = gap
        length2 = plane_gap(a[i], b, gap)
        if length2 < least:
            least = length2
            best[:] = gap
        length2 = plane_gap(b[i], a, gap)
        if length2 < least:
            least = length2
            best[:] = -gap
    return np.sqrt(least)
