"""Compiled paths along the skin from many feet, and questions asked of the skin that they reach."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit
from dressform.mesh.nearest_kernels import closest_on_triangle


@jit
@no_type_check
def reached(first: Any, heads: Any, lengths: Any, sources: Any, limits: Any) -> Any:
    """Vertices within a path length of each source, rising: where each list starts, (S + 1,), and the lists.

    The graph is that of a sparse matrix: the row of vertex v is `heads[first[v] : first[v + 1]]`.
    """
    count = len(first) - 1
    distance, waits = np.full(count, np.inf), np.zeros(count, dtype=np.bool_)
    queue, touched = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    starts = np.zeros(len(sources) + 1, dtype=np.int64)
    found = np.zeros(1024, dtype=np.int32)
    used = 0
    for s in range(len(sources)):
        begin, size, seen = 0, 1, 1
        queue[0], touched[0] = sources[s], sources[s]
        distance[sources[s]] = 0.0
        while size > 0:  # a queue in a ring: a vertex waits in it once at most
            v = queue[begin]
            begin, size, waits[v] = (begin + 1) % count, size - 1, False
            for e in range(first[v], first[v + 1]):
                u, length = heads[e], distance[v] + lengths[e]
                if length > limits[s] or length >= distance[u]:
                    continue
                if distance[u] == np.inf:
                    touched[seen] = u
                    seen += 1
                distance[u] = length
                if not waits[u]:
                    queue[(begin + size) % count], waits[u] = u, True
                    size += 1
        while used + seen > len(found):
            longer = np.zeros(2 * len(found), dtype=np.int32)
            longer[:used] = found[:used]
            found = longer
        found[used : used + seen] = np.sort(touched[:seen])
        distance[touched[:seen]] = np.inf
        used += seen
        starts[s + 1] = used
    return starts, found[:used].copy()


@jit
@no_type_check
def holds(found: Any, start: int, end: int, vertex: int) -> bool:
    """Whether a rising list holds a vertex."""
    while start < end:
        middle = (start + end) // 2
        if found[middle] < vertex:
            start = middle + 1
        elif found[middle] > vertex:
            end = middle
        else:
            return True
    return False


@jit
@no_type_check
def are_own(pairs: Any, cloth: Any, body: Any, rows: Any, starts: Any, found: Any) -> Any:
    """Whether the foot of a corner of each pair's cloth triangle reaches a corner of its body triangle, (P,)."""
    own = np.zeros(len(pairs), dtype=np.bool_)
    for p in range(len(pairs)):
        for i in range(3):
            row = rows[cloth[pairs[p, 0], i]]
            for j in range(3):
                if holds(found, starts[row], starts[row + 1], body[pairs[p, 1], j]):
                    own[p] = True
                    break
            if own[p]:
                break
    return own


@jit
@no_type_check
def closest_of(
    queries: Any, rows: Any, starts: Any, found: Any, first: Any, of_vertex: Any, faces: Any, corners: Any, normals: Any
) -> Any:
    """Closest point on the triangles around each query's own vertices: the face, (Q,), and barycentric, (Q, 3).

    The triangles around vertex v are `of_vertex[first[v] : first[v + 1]]`.
    """
    chosen, barycentric = np.zeros(len(queries), dtype=np.int64), np.zeros((len(queries), 3))
    for q in range(len(queries)):
        best = np.inf
        for at in range(starts[rows[q]], starts[rows[q] + 1]):
            for e in range(first[found[at]], first[found[at] + 1]):
                f = of_vertex[e]
                o, b, c, n = corners[faces[f, 0]], corners[faces[f, 1]], corners[faces[f, 2]], normals[f]
                ax, ay, az = queries[q, 0] - o[0], queries[q, 1] - o[1], queries[q, 2] - o[2]
                height = n[0] * ax + n[1] * ay + n[2] * az
                if height * height >= best:
                    continue
                ux, uy, uz = b[0] - o[0], b[1] - o[1], b[2] - o[2]
                vx, vy, vz = c[0] - o[0], c[1] - o[1], c[2] - o[2]
                u, v, w = closest_on_triangle(ax, ay, az, ux, uy, uz, vx, vy, vz, n[0], n[1], n[2])
                dx, dy, dz = ax - v * ux - w * vx, ay - v * uy - w * vy, az - v * uz - w * vz
                distance = dx * dx + dy * dy + dz * dz
                if distance < best:
                    best, chosen[q] = distance, f
                    barycentric[q, 0], barycentric[q, 1], barycentric[q, 2] = u, v, w
    return chosen, barycentric
