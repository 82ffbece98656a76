"""Compiled tape: the convex hull of a horizontal section."""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def section_points(vertices: Any, faces: Any, chosen: Any, level: float) -> Any:
    """Where the sides of the chosen triangles cross the plane y = level: x and z, (N, 2). A vertex on it is above."""
    points = np.zeros((64, 2))
    used = 0
    for i in range(len(chosen)):
        f = chosen[i]
        above = 0
        for k in range(3):
            above += vertices[faces[f, k], 1] >= level
        if above == 0 or above == 3:
            continue
        if used + 2 > len(points):
            grown = np.zeros((2 * len(points), 2))
            grown[:used] = points[:used]
            points = grown
        for k in range(3):
            a, b = faces[f, k], faces[f, (k + 1) % 3]
            ya, yb = vertices[a, 1], vertices[b, 1]
            if (ya >= level) != (yb >= level):
                t = (level - ya) / (yb - ya)
                points[used, 0] = vertices[a, 0] + t * (vertices[b, 0] - vertices[a, 0])
                points[used, 1] = vertices[a, 2] + t * (vertices[b, 2] - vertices[a, 2])
                used += 1
    return points[:used].copy()


@jit
@no_type_check
def hull_perimeter(points: Any) -> float:
    """Perimeter of the convex hull of points in a plane, by a sweep in rising x and back [Andrew1979]."""
    count = len(points)
    if count < 2:
        return 0.0
    order = np.argsort(points[:, 0], kind="mergesort")
    start = 0
    while start < count:  # equal x: rising z
        end = start + 1
        while end < count and points[order[end], 0] == points[order[start], 0]:
            end += 1
        if end - start > 1:
            ties = order[start:end].copy()
            order[start:end] = ties[np.argsort(points[ties, 1], kind="mergesort")]
        start = end
    total = 0.0
    hull = np.zeros(count + 1, dtype=np.int64)
    for sweep in range(2):
        used = 0
        for step in range(count):
            p = order[step] if sweep == 0 else order[count - 1 - step]
            while used >= 2:
                a, b = hull[used - 2], hull[used - 1]
                turn = (points[b, 0] - points[a, 0]) * (points[p, 1] - points[a, 1])
                turn -= (points[b, 1] - points[a, 1]) * (points[p, 0] - points[a, 0])
                if turn > 0.0:
                    break
                used -= 1
            hull[used] = p
            used += 1
        for i in range(used - 1):
            a, b = hull[i], hull[i + 1]
            total += math.hypot(points[b, 0] - points[a, 0], points[b, 1] - points[a, 1])
    return total
