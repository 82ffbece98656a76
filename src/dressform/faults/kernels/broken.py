"""Compiled loops behind `broken.py`."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def turned_over(faces: Any, normals: Any, areas: Any, count: int) -> Any:
    """Triangles whose normal points against the cloth around them, (F,).

    The cloth around it is every other triangle that shares a corner, counted once per shared corner. Each is weighted
    by its area, but by no more than the triangle's own, so that neither slivers nor one large neighbour dominates.
    """
    first = np.zeros(count + 1, dtype=np.int64)
    for f in range(len(faces)):
        for k in range(3):
            first[faces[f, k] + 1] += 1
    for v in range(count):
        first[v + 1] += first[v]
    fill = first.copy()
    around = np.zeros(3 * len(faces), dtype=np.int64)
    for f in range(len(faces)):
        for k in range(3):
            v = faces[f, k]
            around[fill[v]] = f
            fill[v] += 1
    turned = np.zeros(len(faces), dtype=np.bool_)
    for f in range(len(faces)):
        against = 0.0
        for k in range(3):
            v = faces[f, k]
            for e in range(first[v], first[v + 1]):
                g = around[e]
                if g != f:
                    agree = (
                        normals[f, 0] * normals[g, 0] + normals[f, 1] * normals[g, 1] + normals[f, 2] * normals[g, 2]
                    )
                    against += min(areas[g], areas[f]) * agree
        turned[f] = against < 0.0
    return turned
