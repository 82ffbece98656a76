"""Compiled separation of two triangles: the closest points of two that do not touch."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import inlined, jit

TINY = 1e-300


@inlined
@no_type_check
def segment_gap(p: Any, q: Any, r: Any, s: Any, gap: Any) -> float:
    """Vector from segment rs to segment pq where they are closest, into `gap`; returns its squared length.

    Source: closest points of two segments [Ericson2005].
    """
    ux, uy, uz = q[0] - p[0], q[1] - p[1], q[2] - p[2]
    vx, vy, vz = s[0] - r[0], s[1] - r[1], s[2] - r[2]
    wx, wy, wz = p[0] - r[0], p[1] - r[1], p[2] - r[2]
    a, e, f = ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz, vx * wx + vy * wy + vz * wz
    b, c = ux * vx + uy * vy + uz * vz, ux * wx + uy * wy + uz * wz
    denominator = a * e - b * b
    x = 0.0
    if denominator > TINY:
        x = min(max((b * f - c * e) / denominator, 0.0), 1.0)
    y = (b * x + f) / e if e > TINY else 0.0
    if y < 0.0 or y > 1.0:
        y = min(max(y, 0.0), 1.0)
        x = min(max((b * y - c) / a, 0.0), 1.0) if a > TINY else 0.0
    gap[0], gap[1], gap[2] = wx + x * ux - y * vx, wy + x * uy - y * vy, wz + x * uz - y * vz
    return gap[0] * gap[0] + gap[1] * gap[1] + gap[2] * gap[2]


@inlined
@no_type_check
def plane_gap(p: Any, triangle: Any, gap: Any) -> float:
    """Vector from a triangle to point p where the closest point is inside the triangle, else infinite length."""
    rx, ry, rz = triangle[0, 0], triangle[0, 1], triangle[0, 2]
    ux, uy, uz = triangle[1, 0] - rx, triangle[1, 1] - ry, triangle[1, 2] - rz
    vx, vy, vz = triangle[2, 0] - rx, triangle[2, 1] - ry, triangle[2, 2] - rz
    wx, wy, wz = p[0] - rx, p[1] - ry, p[2] - rz
    uu, uv, vv = ux * ux + uy * uy + uz * uz, ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz
    wu, wv = wx * ux + wy * uy + wz * uz, wx * vx + wy * vy + wz * vz
    denominator = uu * vv - uv * uv
    if denominator <= TINY:
        return np.inf
    s, t = (vv * wu - uv * wv) / denominator, (uu * wv - uv * wu) / denominator
    if s < 0.0 or t < 0.0 or s + t > 1.0:
        return np.inf
    gap[0], gap[1], gap[2] = wx - s * ux - t * vx, wy - s * uy - t * vy, wz - s * uz - t * vz
    return gap[0] * gap[0] + gap[1] * gap[1] + gap[2] * gap[2]


@jit
@no_type_check
def triangle_gap(a: Any, b: Any, best: Any, gap: Any) -> float:
    """Vector from triangle b to triangle a, (3, 3) each, where they are closest, into `best`; returns its length.

    Two triangles that do not cross are closest at two sides, or at a corner of one and the inside of the other.
    For triangles that cross, the length is that of some gap between their outlines and separates nothing. `gap` is room
    for three numbers.
    """
    least = np.inf
    for i in range(3):
        for j in range(3):
            length2 = segment_gap(a[i], a[(i + 1) % 3], b[j], b[(j + 1) % 3], gap)
            if length2 < least:
                least = length2
                best[0], best[1], best[2] = gap[0], gap[1], gap[2]
        length2 = plane_gap(a[i], b, gap)
        if length2 < least:
            least = length2
            best[0], best[1], best[2] = gap[0], gap[1], gap[2]
        length2 = plane_gap(b[i], a, gap)
        if length2 < least:
            least = length2
            best[0], best[1], best[2] = -gap[0], -gap[1], -gap[2]
    return np.sqrt(least)
