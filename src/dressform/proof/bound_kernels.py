"""Compiled lower bounds of the gap of two triangles over the range, and the splitting of the range.

Along a fixed unit direction n the nine differences n · (g_i − b_j) of corners are affine in the weights, so the least
of each over the range is exact: base + Σ_k min(low_k s_k, high_k s_k). The least of the nine bounds the gap of the
two whole triangles from below, at every weight.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.geometry_kernels import dot
from dressform.mesh.jit import jit
from dressform.proof.triangle_kernels import triangle_gap

BLENDS = np.array([0.0, 0.5, 1.0, 2.0])  # how much of the body's normal is added to the unit vector between the two


@jit
@no_type_check
def corners_at(terms: Any, triangle: Any, weights: Any, corners: Any) -> None:
    """Corners of a triangle at given weights, (3, 3)."""
    for i in range(3):
        for x in range(3):
            value = terms[triangle[i], 0, x]
            for k in range(len(weights)):
                value += weights[k] * terms[triangle[i], k + 1, x]
            corners[i, x] = value


@jit
@no_type_check
def along(terms: Any, triangle: Any, n: Any, out: Any) -> None:
    """Terms of the corners along n, (3, M)."""
    for i in range(3):
        v = triangle[i]
        for m in range(terms.shape[1]):
            out[i, m] = n[0] * terms[v, m, 0] + n[1] * terms[v, m, 1] + n[2] * terms[v, m, 2]


@jit
@no_type_check
def nearest_corners(along_a: Any, along_b: Any, low: Any, high: Any) -> tuple[float, int, int]:
    """Least of the nine corner differences over the range, and the cloth and body corners where it occurs."""
    least, a, b = np.inf, 0, 0
    for i in range(3):
        for j in range(3):
            value = along_a[i, 0] - along_b[j, 0]
            for k in range(len(low)):
                slope = along_a[i, k + 1] - along_b[j, k + 1]
                value += min(low[k] * slope, high[k] * slope)
            if value < least:
                least, a, b = value, i, j
    return least, a, b


@jit
@no_type_check
def unit_normal_of(corners: Any, out: Any) -> None:
    """Unit normal of a triangle; zero where it has none."""
    x, y, z = corners[0, 0], corners[0, 1], corners[0, 2]
    ux, uy, uz = corners[1, 0] - x, corners[1, 1] - y, corners[1, 2] - z
    vx, vy, vz = corners[2, 0] - x, corners[2, 1] - y, corners[2, 2] - z
    out[0], out[1], out[2] = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    length = np.sqrt(out[0] ** 2 + out[1] ** 2 + out[2] ** 2)
    if length > 0.0:
        out[0], out[1], out[2] = out[0] / length, out[1] / length, out[2] / length


@jit
@no_type_check
def apart(a: Any, b: Any, way: Any, room: Any) -> float:
    """How far two triangles (3, 3) are apart; 0 or less where they cross. `way` and `room` hold three numbers."""
    gap = triangle_gap(a, b, way, room)
    if gap <= 0.0:
        return 0.0
    nearest = np.inf
    for i in range(3):
        for j in range(3):
            nearest = min(nearest, (dot(way, a[i]) - dot(way, b[j])) / gap)
    return nearest


@jit
@no_type_check
def try_direction(
    cloth: Any,
    body: Any,
    t: Any,
    s: Any,
    low: Any,
    high: Any,
    trial: Any,
    along_a: Any,
    along_b: Any,
    most: float,
    best: Any,
) -> float:
    """The larger of `most` and the bound along `trial` (any length), whose unit vector then goes into `best`."""
    length = np.sqrt(trial[0] ** 2 + trial[1] ** 2 + trial[2] ** 2)
    if length < 1e-6:
        return most
    trial[0], trial[1], trial[2] = trial[0] / length, trial[1] / length, trial[2] / length
    along(cloth, t, trial, along_a)
    along(body, s, trial, along_b)
    value, _, _ = nearest_corners(along_a, along_b, low, high)
    if value > most:
        best[:] = trial
        return value
    return most


@jit
@no_type_check
def best_bound(
    cloth: Any,
    body: Any,
    t: Any,
    s: Any,
    low: Any,
    high: Any,
    centre: Any,
    work: Any,
    along_a: Any,
    along_b: Any,
    best: Any,
    enough: float,
) -> float:
    """Largest bound over the candidate directions, found at the shape `centre`; the direction goes into `best`.

    The first whose bound is `enough` ends the search.

    Candidates: the vector between the closest points with more and more of the body triangle's normal added, the
    normals of both triangles and the one halfway between them (the best for two patches of concentric spheres).
    Whatever the direction, its bound is rigorous. `work` is (4, 3, 3).
    """
    a, b, n, normal, trial, other = work[0], work[1], work[2, 0], work[2, 1], work[2, 2], work[3, 1]
    corners_at(cloth, t, centre, a)
    corners_at(body, s, centre, b)
    gap = triangle_gap(a, b, n, trial)
    if gap > 0.0:
        n[0], n[1], n[2] = n[0] / gap, n[1] / gap, n[2] / gap
    unit_normal_of(b, normal)
    unit_normal_of(a, other)
    if other[0] * normal[0] + other[1] * normal[1] + other[2] * normal[2] < 0.0:
        other *= -1.0
    most = -np.inf
    for blend in range(len(BLENDS)):
        for x in range(3):
            trial[x] = n[x] + BLENDS[blend] * normal[x]
        most = try_direction(cloth, body, t, s, low, high, trial, along_a, along_b, most, best)
        if most >= enough:
            return most
    for share in range(3):
        for x in range(3):
            trial[x] = 0.5 * share * normal[x] + (1.0 - 0.5 * share) * other[x]
        most = try_direction(cloth, body, t, s, low, high, trial, along_a, along_b, most, best)
    return most


@jit
@no_type_check
def pair_bounds(
    cloth: Any,
    faces_a: Any,
    body: Any,
    faces_b: Any,
    pairs: Any,
    low: Any,
    high: Any,
    centre: Any,
    enough: Any,
) -> Any:
    """For every pair: the largest bound over the whole range, or the first that is enough, (P,); directions, (P, 3)."""
    count, amount = len(pairs), cloth.shape[1]
    values, directions = np.zeros(count), np.zeros((count, 3))
    work, along_a, along_b = np.zeros((4, 3, 3)), np.zeros((3, amount)), np.zeros((3, amount))
    for p in range(count):
        t, s = faces_a[pairs[p, 0]], faces_b[pairs[p, 1]]
        values[p] = best_bound(cloth, body, t, s, low, high, centre, work, along_a, along_b, directions[p], enough[p])
    return values, directions


@jit
@no_type_check
def pair_gaps(cloth: Any, faces_a: Any, body: Any, faces_b: Any, pairs: Any, weights: Any) -> Any:
    """Distance of the two triangles of every pair at given weights, (P,)."""
    gaps = np.zeros(len(pairs))
    a, b, vector, room = np.zeros((3, 3)), np.zeros((3, 3)), np.zeros(3), np.zeros(3)
    for p in range(len(pairs)):
        corners_at(cloth, faces_a[pairs[p, 0]], weights, a)
        corners_at(body, faces_b[pairs[p, 1]], weights, b)
        gaps[p] = triangle_gap(a, b, vector, room)
    return gaps


@jit
@no_type_check
def worst_corner(
    cloth: Any, body: Any, t: Any, s: Any, n: Any, low: Any, high: Any, along_a: Any, along_b: Any, corner: Any
) -> None:
    """Write into `corner` the weights at which the smallest of the nine corner differences along n is least."""
    along(cloth, t, n, along_a)
    along(body, s, n, along_b)
    _, i, j = nearest_corners(along_a, along_b, low, high)
    for k in range(len(low)):
        slope = along_a[i, k + 1] - along_b[j, k + 1]
        corner[k] = low[k] if low[k] * slope < high[k] * slope else high[k]


@jit
@no_type_check
def costliest(cloth: Any, body: Any, t: Any, s: Any, n: Any, low: Any, high: Any, along_a: Any, along_b: Any) -> int:
    """The morph whose interval moves the two triangles most relative to each other along n."""
    along(cloth, t, n, along_a)
    along(body, s, n, along_b)
    best, most = 0, -1.0
    for k in range(len(low)):
        for i in range(3):
            for j in range(3):
                spread = abs(along_a[i, k + 1] - along_b[j, k + 1]) * (high[k] - low[k])
                if spread > most:
                    best, most = k, spread
    return best
