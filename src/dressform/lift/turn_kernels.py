"""Compiled rotations of triangles and of 3 × 3 maps."""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.geometry_kernels import unit_normal
from dressform.mesh.jit import jit

STEPS = 30  # of Newton's iteration; it needs less than ten unless the map is nearly singular
SETTLED = 1e-14
SINGULAR = 1e-6  # determinant over the cube of the norm: below it the iteration is not trusted


@jit
@no_type_check
def triangle_turns(made: Any, moved: Any, corners: Any) -> Any:
    """Rotation of each triangle (N, 3, 3), and which of them have a normal before and after (N,).

    In the triangle's own plane the map is 2 × 2, and the nearest turn to [[a, b], [0, d]] is by atan2(−b, a + d).
    """
    count = len(corners)
    turns, known = np.zeros((count, 3, 3)), np.zeros(count, dtype=np.bool_)
    frames, sides = np.zeros((2, 3, 3)), np.zeros((2, 3))
    for t in range(count):
        usable = True
        for which in range(2):
            points = made if which == 0 else moved
            frame = frames[which]
            i, j, k = corners[t, 0], corners[t, 1], corners[t, 2]
            nx, ny, nz, _ = unit_normal(
                points[i, 0], points[i, 1], points[i, 2], points[j, 0], points[j, 1], points[j, 2],
                points[k, 0], points[k, 1], points[k, 2],
            )  # fmt: skip
            usable = usable and (nx != 0.0 or ny != 0.0 or nz != 0.0)
            ux, uy, uz = points[j, 0] - points[i, 0], points[j, 1] - points[i, 1], points[j, 2] - points[i, 2]
            length = math.sqrt(ux * ux + uy * uy + uz * uz)
            usable = usable and length > 0.0
            if not usable:
                break
            ux, uy, uz = ux / length, uy / length, uz / length
            frame[0, 0], frame[0, 1], frame[0, 2] = ux, uy, uz
            frame[1, 0], frame[1, 1], frame[1, 2] = ny * uz - nz * uy, nz * ux - nx * uz, nx * uy - ny * ux
            frame[2, 0], frame[2, 1], frame[2, 2] = nx, ny, nz
            along, across = 0.0, 0.0
            for c in range(3):
                side = points[k, c] - points[i, c]
                along += side * frame[0, c]
                across += side * frame[1, c]
            sides[which, 0], sides[which, 1], sides[which, 2] = length, along, across
        cosine = sides[1, 0] * sides[0, 2] + sides[1, 2] * sides[0, 0]
        sine = sides[1, 0] * sides[0, 1] - sides[1, 1] * sides[0, 0]
        size = math.sqrt(cosine * cosine + sine * sine)
        if not usable or size == 0.0:
            continue
        known[t] = True
        cosine, sine = cosine / size, sine / size
        for a in range(3):
            first = cosine * frames[1, 0, a] + sine * frames[1, 1, a]
            second = cosine * frames[1, 1, a] - sine * frames[1, 0, a]
            for b in range(3):
                turns[t, a, b] = first * frames[0, 0, b] + second * frames[0, 1, b] + frames[1, 2, a] * frames[0, 2, b]
    return turns, known


@jit
@no_type_check
def polar_turns(maps: Any) -> Any:
    """The rotation nearest to each map (N, 3, 3), and where it was found (N,): where nothing is mirrored or singular.

    Newton's iteration for the polar factor, X ← (g X + X⁻ᵀ / g) / 2, with g that evens out the norms of both.
    """
    count = len(maps)
    turns, known = np.zeros((count, 3, 3)), np.zeros(count, dtype=np.bool_)
    cofactors = np.zeros((3, 3))
    for t in range(count):
        at = turns[t]
        at[:, :] = maps[t]
        for _ in range(STEPS):
            for a in range(3):
                b, c = (a + 1) % 3, (a + 2) % 3
                for p in range(3):
                    q, r = (p + 1) % 3, (p + 2) % 3
                    cofactors[a, p] = at[b, q] * at[c, r] - at[b, r] * at[c, q]
            det = at[0, 0] * cofactors[0, 0] + at[0, 1] * cofactors[0, 1] + at[0, 2] * cofactors[0, 2]
            own, other = 0.0, 0.0
            for a in range(3):
                for p in range(3):
                    own += at[a, p] * at[a, p]
                    other += cofactors[a, p] * cofactors[a, p]
            if not det > SINGULAR * own * math.sqrt(own):
                break
            own, other = math.sqrt(own), math.sqrt(other) / det
            scale, change = math.sqrt(other / own), 0.0
            for a in range(3):
                for p in range(3):
                    new = 0.5 * (scale * at[a, p] + cofactors[a, p] / (det * scale))
                    change = max(change, abs(new - at[a, p]))
                    at[a, p] = new
            if change < SETTLED:
                known[t] = True
                break
    return turns, known
