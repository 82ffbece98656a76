"""Compiled search for the closest point on a mesh."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit
from dressform.mesh.tree_kernels import STACK


@jit
@no_type_check
def along(px: float, py: float, pz: float, ax: float, ay: float, az: float, bx: float, by: float, bz: float) -> float:
    """Where on the segment a to b the point closest to p lies, 0 to 1."""
    ux, uy, uz = bx - ax, by - ay, bz - az
    length2 = ux * ux + uy * uy + uz * uz
    if length2 <= 0.0:
        return 0.0
    return min(max((ux * (px - ax) + uy * (py - ay) + uz * (pz - az)) / length2, 0.0), 1.0)


@jit
@no_type_check
def closest_on_sliver(slots: Any, s: int, px: float, py: float, pz: float) -> Any:
    """Barycentric coordinates of the closest point of a triangle without area: the best of its three sides."""
    best, u, v, w = np.inf, 1.0, 0.0, 0.0
    for side in range(3):
        i, j = 3 * side, 3 * ((side + 1) % 3)
        ax, ay, az = slots[s, i], slots[s, i + 1], slots[s, i + 2]
        bx, by, bz = slots[s, j], slots[s, j + 1], slots[s, j + 2]
        t = along(px, py, pz, ax, ay, az, bx, by, bz)
        dx, dy, dz = ax + t * (bx - ax) - px, ay + t * (by - ay) - py, az + t * (bz - az) - pz
        d = dx * dx + dy * dy + dz * dz
        if d < best:
            best = d
            if side == 0:
                u, v, w = 1.0 - t, t, 0.0
            elif side == 1:
                u, v, w = 0.0, 1.0 - t, t
            else:
                u, v, w = t, 0.0, 1.0 - t
    return u, v, w


@jit
@no_type_check
def closest_on_triangle(slots: Any, s: int, px: float, py: float, pz: float) -> Any:
    """Barycentric coordinates of the point of slot s closest to p; exact zeros on sides and corners [Ericson2005]."""
    if slots[s, 9] == 0.0 and slots[s, 10] == 0.0 and slots[s, 11] == 0.0:
        return closest_on_sliver(slots, s, px, py, pz)
    ax, ay, az = px - slots[s, 0], py - slots[s, 1], pz - slots[s, 2]
    ux, uy, uz = slots[s, 3] - slots[s, 0], slots[s, 4] - slots[s, 1], slots[s, 5] - slots[s, 2]
    vx, vy, vz = slots[s, 6] - slots[s, 0], slots[s, 7] - slots[s, 1], slots[s, 8] - slots[s, 2]
    d1, d2 = ux * ax + uy * ay + uz * az, vx * ax + vy * ay + vz * az
    if d1 <= 0.0 and d2 <= 0.0:
        return 1.0, 0.0, 0.0
    bx, by, bz = px - slots[s, 3], py - slots[s, 4], pz - slots[s, 5]
    d3, d4 = ux * bx + uy * by + uz * bz, vx * bx + vy * by + vz * bz
    if d3 >= 0.0 and d4 <= d3:
        return 0.0, 1.0, 0.0
    vc = d1 * d4 - d3 * d2
    if vc <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        t = d1 / (d1 - d3)
        return 1.0 - t, t, 0.0
    cx, cy, cz = px - slots[s, 6], py - slots[s, 7], pz - slots[s, 8]
    d5, d6 = ux * cx + uy * cy + uz * cz, vx * cx + vy * cy + vz * cz
    if d6 >= 0.0 and d5 <= d6:
        return 0.0, 0.0, 1.0
    vb = d5 * d2 - d1 * d6
    if vb <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        t = d2 / (d2 - d6)
        return 1.0 - t, 0.0, t
    va = d3 * d6 - d5 * d4
    if va <= 0.0 and d4 >= d3 and d5 >= d6:
        t = (d4 - d3) / ((d4 - d3) + (d5 - d6))
        return 0.0, 1.0 - t, t
    # shares of area along the normal: error ε/h for a triangle of relative height h, where va, vb, vc give ε/h²
    nx, ny, nz = slots[s, 9], slots[s, 10], slots[s, 11]
    ex, ey, ez = vy * nz - vz * ny, vz * nx - vx * nz, vx * ny - vy * nx
    fx, fy, fz = ny * uz - nz * uy, nz * ux - nx * uz, nx * uy - ny * ux
    double_area = ux * ex + uy * ey + uz * ez
    v = min(max((ax * ex + ay * ey + az * ez) / double_area, 0.0), 1.0)
    w = min(max((ax * fx + ay * fy + az * fz) / double_area, 0.0), 1.0 - v)
    return 1.0 - v - w, v, w


@jit
@no_type_check
def box_distance2(bounds: Any, node: int, px: float, py: float, pz: float) -> float:
    """Squared distance from p to the box of a node; 0 inside."""
    dx = max(bounds[node, 0] - px, px - bounds[node, 3], 0.0)
    dy = max(bounds[node, 1] - py, py - bounds[node, 4], 0.0)
    dz = max(bounds[node, 2] - pz, pz - bounds[node, 5], 0.0)
    return dx * dx + dy * dy + dz * dz


@jit
@no_type_check
def try_slot(
    slots: Any, s: int, px: float, py: float, pz: float, mx: float, my: float, mz: float, least: float, best: float
) -> Any:
    """Squared distance to slot s and its barycentric coordinates; infinite where it cannot beat `best` or disagrees."""
    nx, ny, nz = slots[s, 9], slots[s, 10], slots[s, 11]
    if nx * mx + ny * my + nz * mz < least:
        return np.inf, 0.0, 0.0, 0.0
    height = nx * (px - slots[s, 0]) + ny * (py - slots[s, 1]) + nz * (pz - slots[s, 2])
    if height * height >= best:
        return np.inf, 0.0, 0.0, 0.0
    u, v, w = closest_on_triangle(slots, s, px, py, pz)
    dx = u * slots[s, 0] + v * slots[s, 3] + w * slots[s, 6] - px
    dy = u * slots[s, 1] + v * slots[s, 4] + w * slots[s, 7] - py
    dz = u * slots[s, 2] + v * slots[s, 5] + w * slots[s, 8] - pz
    return dx * dx + dy * dy + dz * dz, u, v, w


@jit
@no_type_check
def closest_points(
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
        best, slot, bu, bv, bw = within, -1, 0.0, 0.0, 0.0
        guess = start[q] if start[q] >= 0 else before
        if guess >= 0:
            d, u, v, w = try_slot(slots, guess, px, py, pz, mx, my, mz, least, best)
            if d < best:
                best, slot, bu, bv, bw = d, guess, u, v, w
        stack[0], keys[0] = 0, box_distance2(bounds, 0, px, py, pz)
        top = 1
        while top > 0:
            top -= 1
            if keys[top] >= best:
                continue
            node = stack[top]
            at = first[node]
            if count[node] > 0:
                for s in range(at, at + count[node]):
                    d, u, v, w = try_slot(slots, s, px, py, pz, mx, my, mz, least, best)
                    if d < best:
                        best, slot, bu, bv, bw = d, s, u, v, w
                continue
            left, right = box_distance2(bounds, at, px, py, pz), box_distance2(bounds, at + 1, px, py, pz)
            near = at if left <= right else at + 1
            close, far = min(left, right), max(left, right)
            if far < best:
                stack[top], keys[top] = at + at + 1 - near, far
                top += 1
            if close < best:
                stack[top], keys[top] = near, close
                top += 1
        if slot >= 0:
            found[q], distances2[q] = slot, best
            barycentric[q, 0], barycentric[q, 1], barycentric[q, 2] = bu, bv, bw
            before = slot
    return found, barycentric, distances2


@jit
@no_type_check
def pseudonormal_signs(
    faces: Any, sides: Any, at_vertices: Any, at_sides: Any, at_faces: Any, queries: Any, points: Any, found: Any,
    barycentric: Any,
) -> Any:  # fmt: skip
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
        if zeros == 0:
            normal = at_faces[f]
        elif zeros == 1:
            normal = at_sides[sides[f, (zero + 1) % 3]]
        else:
            normal = at_vertices[faces[f, one]]
        height = 0.0
        for k in range(3):
            height += normal[k] * (queries[q, k] - points[q, k])
        signs[q] = np.sign(height)
    return signs
