"""Compiled loops of the pucker index at a stance."""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.faults.kernels.pucker import COLUMNS, over_scale
from dressform.mesh.jit import jit


@jit
@no_type_check
def posed_residuals(
    shaped: Any,
    posed: Any,
    maps: Any,
    members: Any,
    bounds: Any,
    radii: Any,
    roots: Any,
    basis: Any,
    triangles: Any,
    totals: Any,
) -> Any:
    """Pucker index of every window of posed stations beyond that of their smooth shape under `maps`, (S,).

    `shaped` are the stations before the pose and `posed` after it; `maps` (S, 3, 4) carry the smooth part of a window.
    """
    index = np.zeros(len(radii))
    fitted = np.zeros((3, COLUMNS))
    left = np.zeros((3, COLUMNS))
    smooth, away = np.zeros(3), np.zeros(3)
    longest = np.max(bounds[1:] - bounds[:-1])
    apart = np.zeros((longest, 3))
    for s in range(len(radii)):
        if triangles[s, 0] == 0.0 or triangles[s, 2] == 0.0:
            continue
        fitted[:] = 0.0
        left[:] = 0.0
        for e in range(bounds[s], bounds[s + 1]):
            q, root = members[e], roots[e]
            for x in range(3):
                value = root * (shaped[q, x] - shaped[s, x])
                for j in range(COLUMNS):
                    fitted[x, j] += basis[e, j] * value
        for e in range(bounds[s], bounds[s + 1]):
            q, root, k = members[e], roots[e], e - bounds[s]
            apart[k] = 0.0
            if root == 0.0:
                continue
            for x in range(3):
                smooth[x] = shaped[s, x]
                for j in range(COLUMNS):
                    smooth[x] += basis[e, j] * fitted[x, j] / root
            for x in range(3):
                away[x] = posed[q, x] - maps[q, x, 3]
                for y in range(3):
                    away[x] -= maps[q, x, y] * smooth[y]
                apart[k, x] = root * away[x]
                for j in range(COLUMNS):
                    left[x, j] += basis[e, j] * apart[k, x]
        total = 0.0
        for e in range(bounds[s], bounds[s + 1]):
            k = e - bounds[s]
            for x in range(3):
                value = apart[k, x]
                for j in range(COLUMNS):
                    value -= basis[e, j] * left[x, j]
                total += value * value
        index[s] = over_scale(math.sqrt(total / totals[s]), fitted, triangles[s])
    return index
