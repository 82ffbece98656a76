"""Compiled search for the closest point on a mesh.

Inner functions take numbers, not arrays: handing an array to a compiled function has a price, and passing numbers made
a query up to 20 % faster.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit
from dressform.mesh.tree_kernels import STACK


@jit
@no_type_check
def along_side(ax: float, ay: float, az: float, ux: float, uy: float, uz: float) -> Any:
    """Share of the side u at which the point closest to a lies, a measured from its start, and its squared distance."""
    length2 = ux * ux + uy * uy + uz * uz
    t = min(max((ux * ax + uy * ay + uz * az) / length2, 0.0), 1.0) if length2 > 0.0 else 0.0
    dx, dy, dz = t * ux - ax, t * uy - ay, t * uz - az
    return t, dx * dx + dy * dy + dz * dz


@jit
@no_type_check
def closest_on_sliver(
    ax: float, ay: float, az: float, ux: float, uy: float, uz: float, vx: float, vy: float, vz: float
) -> Any:
    """As `closest_on_triangle`, for a triangle without area: the best of its three sides."""
    t, best = along_side(ax, ay, az, ux, uy, uz)
    u, v, w = 1.0 - t, t, 0.0
    t, d = along_side(ax, ay, az, vx, vy, vz)
    if d < best:
        best, u, v, w = d, 1.0 - t, 0.0, t
    t, d = along_side(ax - ux, ay - uy, az - uz, vx - ux, vy - uy, vz - uz)
    if d < best:
        u, v, w = 0.0, 1.0 - t, t
    return u, v, w


@jit
@no_type_check
def closest_on_triangle(
    ax: float, ay: float, az: float, ux: float, uy: float, uz: float, vx: float, vy: float, vz: float, nx: float,
    ny: float, nz: float,
) -> Any:  # fmt: skip
    """Barycentric coordinates of the point closest to a [Ericson2005].

    Everything is measured from the first corner: a is the query, u and v are the other corners, n the unit normal, zero
    where the triangle is degenerate. Coordinates are exactly 0 and 1 on sides and corners.
    """
    if nx == 0.0 and ny == 0.0 and nz == 0.0:
        return closest_on_sliver(ax, ay, az, ux, uy, uz, vx, vy, vz)
    d1, d2 = ux * ax + uy * ay + uz * az, vx * ax + vy * ay + vz * az
    if d1 <= 0.0 and d2 <= 0.0:
        return 1.0, 0.0, 0.0
    bx, by, bz = ax - ux, ay - uy, az - uz
    d3, d4 = ux * bx + uy * by + uz * bz, vx * bx + vy * by + vz * bz
    if d3 >= 0.0 and d4 <= d3:
        return 0.0, 1.0, 0.0
    cx, cy, cz = ax - vx, ay - vy, az - vz
    d5, d6 = ux * cx + uy * cy + uz * cz, vx * cx + vy * cy + vz * cz
    if d6 >= 0.0 and d5 <= d6:
        return 0.0, 0.0, 1.0
    if d1 * d4 - d3 * d2 <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        t = d1 / (d1 - d3)
        return 1.0 - t, t, 0.0
    if d5 * d2 - d1 * d6 <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        t = d2 / (d2 - d6)
        return 1.0 - t, 0.0, t
    if d3 * d6 - d5 * d4 <= 0.0 and d4 >= d3 and d5 >= d6:
        t = (d4 - d3) / ((d4 - d3) + (d5 - d6))
        return 0.0, 1.0 - t, t
    # shares of area along the normal: error ε/h at relative height h; the products above would give ε/h²
    ex, ey, ez = vy * nz - vz * ny, vz * nx - vx * nz, vx * ny - vy * nx
    share = 1.0 / (ux * ex + uy * ey + uz * ez)
    v = min(max((ax * ex + ay * ey + az * ez) * share, 0.0), 1.0)
    w = (ax * (ny * uz - nz * uy) + ay * (nz * ux - nx * uz) + az * (nx * uy - ny * ux)) * share
    w = min(max(w, 0.0), 1.0 - v)
    return 1.0 - v - w, v, w


@jit
@no_type_check
def box_distance2(
    px: float, py: float, pz: float, l0: float, l1: float, l2: float, h0: float, h1: float, h2: float
) -> float:
    """Squared distance from p to a box; 0 inside."""
    dx, dy, dz = max(l0 - px, px - h0, 0.0), max(l1 - py, py - h1, 0.0), max(l2 - pz, pz - h2, 0.0)
    return dx * dx + dy * dy + dz * dz


@jit
@no_type_check
def closest_points(  # noqa: PLR0915 - one loop, see above
    slots: Any, bounds: Any, first: Any, count: Any, queries: Any, normals: Any, least: float, start: Any, within: float
) -> Any:
    """Slot (Q,), barycentric (Q, 3) and squared distance (Q,) of the closest accepted point; slot -1 where none is.

    `start` gives a slot per query to begin with; where it is -1 the answer of the query before is tried.
    """
    found = np.full(len(queries), -1)
    barycentric = np.zeros((len(queries), 3))
    distances2 = np.full(len(queries), np.inf)
    stack = np.zeros(STACK, dtype=np.int64)
    keys = np.zeros(STACK)
    before = -1
    for q in range(len(queries)):
        px, py, pz = queries[q, 0], queries[q, 1], queries[q, 2]
        mx, my, mz = normals[q, 0], normals[q, 1], normals[q, 2]
        best, slot, best_u, best_v, best_w = within, -1, 0.0, 0.0, 0.0
        guess = start[q] if start[q] >= 0 else before
        # the guess is a leaf of its own, laid on top of the root
        stack[0], keys[0] = 0, 0.0
        top = 1
        node = 0
        begin, end = (guess, guess + 1) if guess >= 0 else (0, 0)
        while True:
            for s in range(begin, end):
                nx, ny, nz = slots[s, 9], slots[s, 10], slots[s, 11]
                if nx * mx + ny * my + nz * mz < least:
                    continue
                ax, ay, az = px - slots[s, 0], py - slots[s, 1], pz - slots[s, 2]
                height = nx * ax + ny * ay + nz * az
                if height * height >= best:
                    continue
                ux, uy, uz = slots[s, 3] - slots[s, 0], slots[s, 4] - slots[s, 1], slots[s, 5] - slots[s, 2]
                vx, vy, vz = slots[s, 6] - slots[s, 0], slots[s, 7] - slots[s, 1], slots[s, 8] - slots[s, 2]
                u, v, w = closest_on_triangle(ax, ay, az, ux, uy, uz, vx, vy, vz, nx, ny, nz)
                dx, dy, dz = ax - v * ux - w * vx, ay - v * uy - w * vy, az - v * uz - w * vz
                d = dx * dx + dy * dy + dz * dz
                if d < best:
                    best, slot, best_u, best_v, best_w = d, s, u, v, w
            begin = end
            while top > 0:
                top -= 1
                if keys[top] >= best:
                    continue
                node = stack[top]
                at = first[node]
                if count[node] > 0:
                    begin, end = at, at + count[node]
                    break
                left = box_distance2(
                    px, py, pz, bounds[at, 0], bounds[at, 1], bounds[at, 2], bounds[at, 3], bounds[at, 4], bounds[at, 5]
                )
                after = at + 1
                right = box_distance2(
                    px, py, pz, bounds[after, 0], bounds[after, 1], bounds[after, 2],
                    bounds[after, 3], bounds[after, 4], bounds[after, 5],
                )  # fmt: skip
                near = at if left <= right else after
                close, far = min(left, right), max(left, right)
                if far < best:
                    stack[top], keys[top] = at + after - near, far
                    top += 1
                if close < best:
                    stack[top], keys[top] = near, close
                    top += 1
            if begin == end:
                break
        if slot >= 0:
            found[q], distances2[q] = slot, best
            barycentric[q, 0], barycentric[q, 1], barycentric[q, 2] = best_u, best_v, best_w
            before = slot
    return found, barycentric, distances2


@jit
@no_type_check
def pseudonormal_signs(
    faces: Any,
    sides: Any,
    at_vertices: Any,
    at_sides: Any,
    at_faces: Any,
    queries: Any,
    points: Any,
    found: Any,
    barycentric: Any,
) -> Any:
    """+1 outside, -1 inside, 0 on the surface, NaN where no face was found, (Q,)."""
    signs = np.zeros(len(queries))
    for q in range(len(queries)):
        f = found[q]
        if f < 0:
            signs[q] = np.nan
            continue
        zeros, zero, one = 0, 0, 0
        for k in range(3):
            if barycentric[q, k] == 0.0:
                zeros += 1
                zero = k
            else:
                one = k
        height = 0.0
        for k in range(3):
            if zeros == 0:
                normal = at_faces[f, k]
            elif zeros == 1:
                normal = at_sides[sides[f, (zero + 1) % 3], k]
            else:
                normal = at_vertices[faces[f, one], k]
            height += normal * (queries[q, k] - points[q, k])
        signs[q] = np.sign(height)
    return signs
