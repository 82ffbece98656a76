"""Compiled loops over pieces of triangles: which vertices share a side of the skin, and how much area lies inside.

A triangle or cell of order n is cut into n² equal pieces with (n + 1)(n + 2) / 2 corners. Corner (i, j), i + j ≤ n, has
barycentric coordinates (n − i − j, i, j) / n; corners run over j, then over i.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def find(parent: Any, v: int) -> int:
    """Root of v, halving the path to it."""
    while parent[v] != v:
        parent[v] = parent[parent[v]]
        v = parent[v]
    return v


@jit
@no_type_check
def same_side(faces: Any, crossed: Any, count: int) -> Any:
    """Group of every vertex, (V,): vertices are grouped when a triangle joins them that crosses nothing."""
    parent = np.arange(count)
    for f in range(len(faces)):
        if crossed[f]:
            continue
        a, b, c = find(parent, faces[f, 0]), find(parent, faces[f, 1]), find(parent, faces[f, 2])
        low = min(a, b, c)
        parent[a] = parent[b] = parent[c] = low
    group = np.full(count, -1)
    used = 0
    for v in range(count):
        root = find(parent, v)
        if group[root] < 0:
            group[root] = used
            used += 1
        group[v] = group[root]
    return group


@jit
@no_type_check
def corner_points(vertices: Any, faces: Any, cells: Any, orders: Any) -> Any:
    """Corners of the pieces of cells of triangles: points (N, 3), barycentric (N, 3), and where each cell starts.

    A cell is three corners in the barycentric coordinates of the triangle it is part of, (M, 3, 3).
    """
    bounds = np.zeros(len(faces) + 1, dtype=np.int64)
    for i in range(len(faces)):
        n = orders[i]
        bounds[i + 1] = bounds[i] + (n + 1) * (n + 2) // 2
    points = np.zeros((bounds[-1], 3))
    barycentric = np.zeros((bounds[-1], 3))
    for i in range(len(faces)):
        n, at = orders[i], bounds[i]
        for row in range(n + 1):
            for column in range(n + 1 - row):
                u, v = column / n, row / n
                w = (n - row - column) / n
                for k in range(3):
                    barycentric[at, k] = w * cells[i, 0, k] + u * cells[i, 1, k] + v * cells[i, 2, k]
                for k in range(3):
                    vertex = faces[i, k]
                    for x in range(3):
                        points[at, x] += barycentric[at, k] * vertices[vertex, x]
                at += 1
    return points, barycentric, bounds


@jit
@no_type_check
def negative_share(a: float, b: float, c: float) -> float:
    """Share of a triangle in which the linear function with these corner values is negative."""
    low, high = min(a, b, c), max(a, b, c)
    if low >= 0.0:
        return 0.0
    if high < 0.0:
        return 1.0
    middle = a + b + c - low - high
    if middle >= 0.0:
        return low * low / ((low - middle) * (low - high))
    return 1.0 - high * high / ((high - low) * (high - middle))


@jit
@no_type_check
def piece_areas(areas: Any, orders: Any, bounds: Any, now: Any, before: Any) -> Any:
    """Area inside before per cell (M,), area newly inside at each corner (N,), corners of such pieces (P, 3).

    `now` and `before` are signed clearances at the corners, negative inside. In a piece the new share is the share now
    minus the share before; its corners that are inside take equal parts of it, newcomers before others.
    """
    own = np.zeros(len(orders))
    at_corners = np.zeros(len(now))
    piece = np.zeros(3, dtype=np.int64)
    pieces = np.zeros((np.sum(orders * orders), 3), dtype=np.int64)
    used = 0
    for i in range(len(orders)):
        n, start = orders[i], bounds[i]
        area = areas[i] / (n * n)
        row_start = start
        for row in range(n):
            length = n + 1 - row
            for column in range(n - row):
                for down in range(2):
                    if down == 1 and column == n - row - 1:
                        continue
                    p = row_start + column
                    piece[0] = p + 1 if down == 1 else p
                    piece[1] = p + length + 1 if down == 1 else p + 1
                    piece[2] = p + length
                    share = negative_share(now[piece[0]], now[piece[1]], now[piece[2]])
                    was = negative_share(before[piece[0]], before[piece[1]], before[piece[2]])
                    own[i] += was * area
                    if share <= was:
                        continue
                    pieces[used] = piece
                    used += 1
                    newcomers, inside = 0, 0
                    for k in range(3):
                        inside += now[piece[k]] < 0.0
                        newcomers += now[piece[k]] < 0.0 and before[piece[k]] >= 0.0
                    for k in range(3):
                        if now[piece[k]] < 0.0 and (newcomers == 0 or before[piece[k]] >= 0.0):
                            at_corners[piece[k]] += (share - was) * area / (newcomers if newcomers else inside)
            row_start += length
    return own, at_corners, pieces[:used].copy()
