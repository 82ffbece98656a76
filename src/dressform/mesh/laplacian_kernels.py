"""Compiled edge flips on the surface, for triangles given by their side lengths alone.

A half-edge is the number 3 · face + corner and denotes the side opposite that corner.
"""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

FLAT = 1e-12  # how negative a weight may be, as a share of its two cotangents, before its edge is flipped
MAX_FLIPS = 100  # per triangle; far above what is needed, in case rounding ever turned in circles


@jit
@no_type_check
def double_area(a: float, b: float, c: float) -> float:
    """Twice the area of a triangle with these sides, by Heron's formula in Kahan's order."""
    if a < b:
        a, b = b, a
    if a < c:
        a, c = c, a
    if b < c:
        b, c = c, b
    product = (a + (b + c)) * (c - (a - b)) * (c + (a - b)) * (a + (b - c))
    return 0.5 * math.sqrt(max(product, 0.0))


@jit
@no_type_check
def cotangent_of(opposite: float, left: float, right: float) -> float:
    """Cotangent of the angle between the sides `left` and `right`."""
    area = double_area(opposite, left, right)
    return (left * left + right * right - opposite * opposite) / (2.0 * area) if area > 0.0 else 0.0


@jit
@no_type_check
def flip_to_delaunay(faces: Any, lengths: Any, twins: Any) -> None:
    """Flip edges in place until no inner weight is negative; edges without a twin (-1) stay [Fisher2007]."""
    waiting = np.ones(3 * len(faces), dtype=np.bool_)
    stack = np.arange(3 * len(faces))
    top = len(stack)
    flips = MAX_FLIPS * len(faces)
    while top > 0 and flips > 0:
        top -= 1
        half = stack[top]
        waiting[half] = False
        twin = twins[half]
        f, k, g, m = half // 3, half % 3, twin // 3, twin % 3
        if twin < 0 or f == g:
            continue
        k1, k2, m1, m2 = (k + 1) % 3, (k + 2) % 3, (m + 1) % 3, (m + 2) % 3
        i, j, r, o = faces[f, k], faces[f, k1], faces[f, k2], faces[g, m]
        jr, ri, ij, jo, ro = lengths[f, k], lengths[f, k1], lengths[f, k2], lengths[g, m1], lengths[g, m2]
        over, under = cotangent_of(jr, ri, ij), cotangent_of(jr, jo, ro)
        if over + under >= -FLAT * (abs(over) + abs(under)):
            continue
        # both triangles unfolded: j at the origin, r along x, i above, o below
        across = (ij * ij - ri * ri - jo * jo + ro * ro) / (2.0 * jr)
        io = math.hypot(across, (double_area(jr, ri, ij) + double_area(jr, jo, ro)) / jr)
        olds = (3 * f + k1, 3 * f + k2, 3 * g + m1, 3 * g + m2)
        news = (3 * g, 3 * f + 2, 3 * f, 3 * g + 2)
        beyond = (twins[olds[0]], twins[olds[1]], twins[olds[2]], twins[olds[3]])
        faces[f, 0], faces[f, 1], faces[f, 2] = i, j, o
        faces[g, 0], faces[g, 1], faces[g, 2] = o, r, i
        lengths[f, 0], lengths[f, 1], lengths[f, 2] = jo, io, ij
        lengths[g, 0], lengths[g, 1], lengths[g, 2] = ri, io, ro
        twins[3 * f + 1], twins[3 * g + 1] = 3 * g + 1, 3 * f + 1
        for side in range(4):
            other = beyond[side]
            for n in range(4):  # the four outer sides may be glued to one another
                if beyond[side] == olds[n]:
                    other = news[n]
            twins[news[side]] = other
            if other >= 0:
                twins[other] = news[side]
            if not waiting[news[side]]:
                waiting[news[side]] = True
                stack[top] = news[side]
                top += 1
        flips -= 1
