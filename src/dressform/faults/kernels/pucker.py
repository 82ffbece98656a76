"""Compiled loops behind `pucker.py`."""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

COLUMNS = 7  # 1, u², uv, v², n, u, v: the last two carry the tangential scale
RANK = 1e-12  # a column that keeps less than this of its length adds no freedom to the fit
WIDENING = 1.25
WIDEST = 4.0  # a window never grows beyond this multiple of the requested radius


@jit
@no_type_check
def choose_stations(vertices: Any, first: Any, neighbours: Any, areas: Any, spacing: float) -> Any:
    """Thin a mesh that is finer than `spacing`: stations, the station that owns each vertex, and the area owned.

    A vertex without an owner becomes a station and takes the unowned vertices that it reaches along edges without
    going farther than `spacing` from itself.
    """
    count = len(vertices)
    owner = np.full(count, -1)
    owned = np.zeros(count)
    stations = np.zeros(count, dtype=np.int64)
    queue = np.zeros(count, dtype=np.int64)
    used = 0
    for p in range(count):
        if owner[p] >= 0:
            continue
        owner[p] = used
        stations[used] = p
        queue[0] = p
        head, tail = 0, 1
        while head < tail:
            q = queue[head]
            head += 1
            owned[used] += areas[q]
            for e in range(first[q], first[q + 1]):
                o = neighbours[e]
                if owner[o] >= 0:
                    continue
                dx = vertices[o, 0] - vertices[p, 0]
                dy = vertices[o, 1] - vertices[p, 1]
                dz = vertices[o, 2] - vertices[p, 2]
                if dx * dx + dy * dy + dz * dz < spacing * spacing:
                    owner[o] = used
                    queue[tail] = o
                    tail += 1
        used += 1
    return stations[:used].copy(), owner, owned[:used].copy()


@jit
@no_type_check
def flood(
    p: int,
    radius: float,
    cosine: float,
    vertices: Any,
    normals: Any,
    first: Any,
    neighbours: Any,
    seen: Any,
    queue: Any,
) -> int:
    """Queue the vertices reached from p along edges, nearer than `radius`, with agreeing normals; returns how many."""
    queue[0] = p
    seen[p] = p
    head, tail = 0, 1
    while head < tail:
        q = queue[head]
        head += 1
        for e in range(first[q], first[q + 1]):
            o = neighbours[e]
            if seen[o] == p:
                continue
            seen[o] = p
            dx = vertices[o, 0] - vertices[p, 0]
            dy = vertices[o, 1] - vertices[p, 1]
            dz = vertices[o, 2] - vertices[p, 2]
            if dx * dx + dy * dy + dz * dz >= radius * radius:
                continue
            agree = normals[o, 0] * normals[p, 0] + normals[o, 1] * normals[p, 1] + normals[o, 2] * normals[p, 2]
            if agree > cosine:
                queue[tail] = o
                tail += 1
    for i in range(tail):  # forget, so that a wider flood from the same vertex starts afresh
        q = queue[i]
        seen[q] = -1
        for e in range(first[q], first[q + 1]):
            seen[neighbours[e]] = -1
    return tail


@jit
@no_type_check
def gather_windows(
    vertices: Any,
    normals: Any,
    first: Any,
    neighbours: Any,
    stations: Any,
    station_of: Any,
    radius: float,
    cosine: float,
    fewest: int,
) -> Any:
    """Stations in the window of each station, as one list with bounds, and the radius of each window.

    Where the cloth is so coarse that a window holds fewer than `fewest` stations, the window is widened.
    """
    count = len(stations)
    bounds = np.zeros(count + 1, dtype=np.int64)
    radii = np.zeros(count)
    members = np.zeros(max(32 * count, 64), dtype=np.int64)
    seen = np.full(len(vertices), -1)
    queue = np.zeros(len(vertices), dtype=np.int64)
    used = 0
    for s in range(count):
        wide = radius
        while True:
            reached = flood(stations[s], wide, cosine, vertices, normals, first, neighbours, seen, queue)
            held = 0
            for i in range(reached):
                if station_of[queue[i]] >= 0:
                    held += 1
            if held >= fewest or wide * WIDENING > WIDEST * radius:
                break
            wide *= WIDENING
        while used + held > len(members):
            grown = np.zeros(2 * len(members), dtype=np.int64)
            grown[:used] = members[:used]
            members = grown
        for i in range(reached):
            if station_of[queue[i]] >= 0:
                members[used] = station_of[queue[i]]
                used += 1
        bounds[s + 1] = used
        radii[s] = wide
    return members[:used].copy(), bounds, radii


@jit
@no_type_check
def orthonormal(columns: Any, length: int, triangle: Any) -> None:
    """Gram–Schmidt on the rows `columns[j, :length]`, twice over, in place; dependent rows become zero.

    `triangle` receives (R_uu, R_uv, R_vv), what is left of the last two rows and how they depend on each other.
    """
    triangle[:] = 0.0
    for j in range(COLUMNS):
        before = 0.0
        for k in range(length):
            before += columns[j, k] * columns[j, k]
        for _ in range(2):
            for i in range(j):
                dot = 0.0
                for k in range(length):
                    dot += columns[i, k] * columns[j, k]
                for k in range(length):
                    columns[j, k] -= dot * columns[i, k]
                if i == COLUMNS - 2:
                    triangle[1] += dot
        after = 0.0
        for k in range(length):
            after += columns[j, k] * columns[j, k]
        if after <= RANK * RANK * before or after == 0.0:
            columns[j, :length] = 0.0
            continue
        norm = math.sqrt(after)
        columns[j, :length] /= norm
        if j == COLUMNS - 2:
            triangle[0] = norm
        if j == COLUMNS - 1:
            triangle[2] = norm


@jit
@no_type_check
def window_bases(points: Any, frames: Any, areas: Any, members: Any, bounds: Any, radii: Any) -> Any:
    """Per member: root of its weight (E,), row of the orthonormal basis (E, 7); per window: R (S, 3), Σw (S,)."""
    count = len(radii)
    roots = np.zeros(len(members))
    basis = np.zeros((len(members), COLUMNS))
    triangles = np.zeros((count, 3))
    totals = np.zeros(count)
    columns = np.zeros((COLUMNS, np.max(bounds[1:] - bounds[:-1])))
    local = np.zeros(3)
    for s in range(count):
        start, length, r = bounds[s], bounds[s + 1] - bounds[s], radii[s]
        for k in range(length):
            q = members[start + k]
            rho2 = 0.0
            for axis in range(3):
                local[axis] = 0.0
                for x in range(3):
                    local[axis] += frames[s, axis, x] * (points[q, x] - points[s, x]) / r
                rho2 += local[axis] * local[axis]
            u, v, n = local[0], local[1], local[2]
            root = math.sqrt(areas[q]) * max(1.0 - rho2, 0.0)
            roots[start + k] = root
            totals[s] += root * root
            columns[0, k], columns[1, k], columns[2, k], columns[3, k] = root, root * u * u, root * u * v, root * v * v
            columns[4, k], columns[5, k], columns[6, k] = root * n, root * u, root * v
        orthonormal(columns, length, triangles[s])
        for k in range(length):
            for j in range(COLUMNS):
                basis[start + k, j] = columns[j, k]
    return roots, basis, triangles, totals


@jit
@no_type_check
def over_scale(residual: float, fitted: Any, triangle: Any) -> float:
    """A residual over the scale of the fitted map along the cloth: the root of how much it stretches area."""
    r_uu, r_uv, r_vv = triangle[0], triangle[1], triangle[2]
    v0, v1, v2 = fitted[0, 6] / r_vv, fitted[1, 6] / r_vv, fitted[2, 6] / r_vv
    u0 = (fitted[0, 5] - r_uv * v0) / r_uu
    u1 = (fitted[1, 5] - r_uv * v1) / r_uu
    u2 = (fitted[2, 5] - r_uv * v2) / r_uu
    n0, n1, n2 = u1 * v2 - u2 * v1, u2 * v0 - u0 * v2, u0 * v1 - u1 * v0
    scale = math.sqrt(math.sqrt(n0 * n0 + n1 * n1 + n2 * n2))
    if scale > 0.0:
        return residual / scale
    return np.inf if residual > 0.0 else 0.0


@jit
@no_type_check
def window_residuals(
    moved: Any, members: Any, bounds: Any, radii: Any, roots: Any, basis: Any, triangles: Any, totals: Any
) -> Any:
    """Pucker index of every window for the moved stations, (S,).

    The residual itself is formed, never a difference of squares: so a motion that the fit can follow leaves only
    rounding error.
    """
    index = np.zeros(len(radii))
    fitted = np.zeros((3, COLUMNS))
    for s in range(len(radii)):
        if triangles[s, 0] == 0.0 or triangles[s, 2] == 0.0:
            continue
        x, y, z = moved[s, 0], moved[s, 1], moved[s, 2]
        fitted[:] = 0.0
        for e in range(bounds[s], bounds[s + 1]):
            q, root = members[e], roots[e]
            dx, dy, dz = root * (moved[q, 0] - x), root * (moved[q, 1] - y), root * (moved[q, 2] - z)
            for j in range(COLUMNS):
                b = basis[e, j]
                fitted[0, j] += b * dx
                fitted[1, j] += b * dy
                fitted[2, j] += b * dz
        total = 0.0
        for e in range(bounds[s], bounds[s + 1]):
            q, root = members[e], roots[e]
            dx, dy, dz = root * (moved[q, 0] - x), root * (moved[q, 1] - y), root * (moved[q, 2] - z)
            for j in range(COLUMNS):
                b = basis[e, j]
                dx -= b * fitted[0, j]
                dy -= b * fitted[1, j]
                dz -= b * fitted[2, j]
            total += dx * dx + dy * dy + dz * dz
        index[s] = over_scale(math.sqrt(total / totals[s]), fitted, triangles[s])
    return index
