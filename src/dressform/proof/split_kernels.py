"""Compiled branch and bound: the splitting of the range until each piece is proven, or one shape disproves it."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit
from dressform.proof.bound_kernels import apart, corners_at, costliest, unit_normal_of, worst_corner
from dressform.proof.direction_kernels import widest_gap
from dressform.proof.triangle_kernels import triangle_gap


@jit
@no_type_check
def split_bounds(
    cloth: Any, faces_a: Any, body: Any, faces_b: Any, pairs: Any, low: Any, high: Any, needed: Any, budget: int
) -> Any:
    """Branch and bound: which pairs keep `needed` over every piece of the range, and how many pieces each took.

    A piece whose widest gap falls short is halved along the morph that costs most there; directions are sought anew in
    each piece, from the way between the closest points at its centre on. A pair is given up once `budget` pieces were
    looked at, or when it comes nearer than needed at the corner where the best direction is least: at a single shape
    the vector between the closest points of two triangles that do not touch separates them by their whole gap, so
    nothing could certify such a pair.
    """
    count, amount = len(pairs), cloth.shape[1]
    proven, pieces = np.zeros(count, dtype=np.bool_), np.zeros(count, dtype=np.int64)
    work, along_a, along_b, n = np.zeros((4, 3, 3)), np.zeros((3, amount)), np.zeros((3, amount)), np.zeros(3)
    lows, highs = np.zeros((budget + 2, len(low))), np.zeros((budget + 2, len(low)))
    corner, m, hull, shares = np.zeros(len(low)), np.zeros(3), np.zeros((5, 3)), np.zeros(4)
    for p in range(count):
        t, s = faces_a[pairs[p, 0]], faces_b[pairs[p, 1]]
        lows[0], highs[0] = low, high
        top = 1
        while top > 0 and pieces[p] < budget:
            top -= 1
            pieces[p] += 1
            centre = 0.5 * (lows[top] + highs[top])
            first_way(cloth, body, t, s, centre, work, m)
            value = widest_gap(
                cloth, body, t, s, lows[top], highs[top], needed[p], along_a, along_b, n, m, hull, shares
            )
            if value >= needed[p]:
                continue
            worst_corner(cloth, body, t, s, n, lows[top], highs[top], along_a, along_b, corner)
            corners_at(cloth, t, corner, work[0])
            corners_at(body, s, corner, work[1])
            if apart(work[0], work[1], m, work[2, 2]) < needed[p]:
                top = -1
                break
            k = costliest(cloth, body, t, s, n, lows[top], highs[top], along_a, along_b)
            lows[top + 1], highs[top + 1] = lows[top], highs[top]
            highs[top, k], lows[top + 1, k] = centre[k], centre[k]
            top += 2
        proven[p] = top == 0
    return proven, pieces


@jit
@no_type_check
def first_way(cloth: Any, body: Any, t: Any, s: Any, weights: Any, work: Any, out: Any) -> None:
    """Unit direction between the closest points of two triangles on one shape; the body's normal where they touch."""
    corners_at(cloth, t, weights, work[0])
    corners_at(body, s, weights, work[1])
    gap = triangle_gap(work[0], work[1], out, work[2, 2])
    if gap > 0.0:
        out[0], out[1], out[2] = out[0] / gap, out[1] / gap, out[2] / gap
    else:
        unit_normal_of(work[1], out)
