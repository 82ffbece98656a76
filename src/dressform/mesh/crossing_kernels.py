"""Compiled tests of whether two triangles touch or cross. They report when floating point cannot decide."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

NO, YES, OPEN = 0, 1, 2
CORNERS = np.array([0, 1, 2, -1])  # numbers of corners that are no literals, for each of which numba compiles anew
ROUNDING = 7.8e-16  # (7 + 56 ε) ε with ε = 2⁻⁵³: what a determinant of differences may err, times its permanent


@jit
@no_type_check
def side_of(
    ax: float, ay: float, az: float, bx: float, by: float, bz: float, cx: float, cy: float, cz: float, dx: float,
    dy: float, dz: float,
) -> int:  # fmt: skip
    """Sign of the volume of the tetrahedron a, b, c, d, or 0 where rounding leaves it open [Shewchuk1997]."""
    ax, ay, az, bx, by, bz, cx, cy, cz = ax - dx, ay - dy, az - dz, bx - dx, by - dy, bz - dz, cx - dx, cy - dy, cz - dz
    volume = ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)
    bound = (
        abs(ax) * (abs(by * cz) + abs(bz * cy))
        + abs(ay) * (abs(bz * cx) + abs(bx * cz))
        + abs(az) * (abs(bx * cy) + abs(by * cx))
    )
    if volume > ROUNDING * bound:
        return 1
    return -1 if volume < -ROUNDING * bound else 0


@jit
@no_type_check
def corner_side(a: Any, i: int, k: int, b: Any, j: int) -> int:
    """On which side of triangle j corner k of triangle i lies; 0 where that is open."""
    k *= 3
    return side_of(
        b[j, 0],
        b[j, 1],
        b[j, 2],
        b[j, 3],
        b[j, 4],
        b[j, 5],
        b[j, 6],
        b[j, 7],
        b[j, 8],
        a[i, k],
        a[i, k + 1],
        a[i, k + 2],
    )


@jit
@no_type_check
def side_through(a: Any, i: int, k: int, m: int, b: Any, j: int, side_k: int, side_m: int) -> int:
    """Whether the segment between corners k and m of triangle i passes triangle j: NO, YES, or OPEN to exact tests.

    `side_k` and `side_m` give the side of triangle j on which each of the two corners lies.
    """
    if side_k == side_m != 0:
        return NO
    k, m = 3 * k, 3 * m
    plus, minus, unsure = False, False, side_k == 0 or side_m == 0
    for edge in range(3):
        p, q = 3 * edge, 3 * ((edge + 1) % 3)
        turn = side_of(
            a[i, k], a[i, k + 1], a[i, k + 2], a[i, m], a[i, m + 1], a[i, m + 2],
            b[j, p], b[j, p + 1], b[j, p + 2], b[j, q], b[j, q + 1], b[j, q + 2],
        )  # fmt: skip
        plus, minus, unsure = plus or turn > 0, minus or turn < 0, unsure or turn == 0
    if plus and minus:
        return NO
    return OPEN if unsure else YES


@jit
@no_type_check
def crossing(a: Any, i: int, b: Any, j: int) -> int:
    """Whether two triangles without common corners touch or cross: NO, YES, or OPEN to exact tests."""
    zero, one, two = CORNERS[0], CORNERS[1], CORNERS[2]
    p, q, r = corner_side(a, i, zero, b, j), corner_side(a, i, one, b, j), corner_side(a, i, two, b, j)
    if p == q == r != 0:
        return NO
    u, v, w = corner_side(b, j, zero, a, i), corner_side(b, j, one, a, i), corner_side(b, j, two, a, i)
    if u == v == w != 0:
        return NO
    worst = NO
    for edge in range(3):
        k, m = edge, (edge + 1) % 3
        side_k, side_m = (p, q) if edge == 0 else ((q, r) if edge == 1 else (r, p))
        found = side_through(a, i, k, m, b, j, side_k, side_m)
        if found == YES:
            return YES
        worst = max(worst, found)
        side_k, side_m = (u, v) if edge == 0 else ((v, w) if edge == 1 else (w, u))
        found = side_through(b, j, k, m, a, i, side_k, side_m)
        if found == YES:
            return YES
        worst = max(worst, found)
    return worst


@jit
@no_type_check
def clearly(ax: float, ay: float, az: float, bx: float, by: float, bz: float) -> int:
    """Sign of a · b, 0 where rounding leaves it open."""
    x, y, z = ax * bx, ay * by, az * bz
    total, bound = x + y + z, 1e-12 * (abs(x) + abs(y) + abs(z))
    if total > bound:
        return 1
    return -1 if total < -bound else 0


@jit
@no_type_check
def apart_at_corner(
    px: float, py: float, pz: float, qx: float, qy: float, qz: float, ux: float, uy: float, uz: float, vx: float,
    vy: float, vz: float,
) -> bool:  # fmt: skip
    """Whether one plane through a common corner leaves sides p, q of one triangle and u, v of the other apart."""
    pp, qq = px * px + py * py + pz * pz, qx * qx + qy * qy + qz * qz
    uu, vv = ux * ux + uy * uy + uz * uz, vx * vx + vy * vy + vz * vz
    if min(min(pp, qq), min(uu, vv)) <= 0.0:
        return False
    pp, qq, uu, vv = 1.0 / np.sqrt(pp), 1.0 / np.sqrt(qq), 1.0 / np.sqrt(uu), 1.0 / np.sqrt(vv)
    ax, ay, az = px * pp + qx * qq, py * pp + qy * qq, pz * pp + qz * qq
    ax, ay, az = ax - ux * uu - vx * vv, ay - uy * uu - vy * vv, az - uz * uu - vz * vv
    if clearly(px, py, pz, ax, ay, az) <= 0 or clearly(qx, qy, qz, ax, ay, az) <= 0:
        return False
    return clearly(ux, uy, uz, ax, ay, az) < 0 and clearly(vx, vy, vz, ax, ay, az) < 0


@jit
@no_type_check
def apart_by_side(a: Any, i: int, at_i: int, b: Any, j: int, at_j: int) -> bool:
    """Whether an upright plane through a side of triangle i clearly leaves triangle j outside.

    Settles most pairs that lie in one plane. `at_i` and `at_j` name a common corner, which may lie in the upright
    plane, or are -1.
    """
    for k in range(3):
        p, q = 3 * k, 3 * ((k + 1) % 3)
        if at_i >= 0 and at_i not in (k, (k + 1) % 3):
            continue
        o = p if at_i < 0 else 3 * at_i
        ex, ey, ez = a[i, q] - a[i, p], a[i, q + 1] - a[i, p + 1], a[i, q + 2] - a[i, p + 2]
        mx, my, mz = ey * a[i, 11] - ez * a[i, 10], ez * a[i, 9] - ex * a[i, 11], ex * a[i, 10] - ey * a[i, 9]
        scale = 1.0 / np.sqrt(mx * mx + my * my + mz * mz)
        inner, outer, reach = -np.inf, np.inf, 0.0
        for c in range(6):
            own, corner = c < 3, c % 3
            if corner == (at_i if own else at_j):
                continue
            x = (a[i, 3 * corner] if own else b[j, 3 * corner]) - a[i, o]
            y = (a[i, 3 * corner + 1] if own else b[j, 3 * corner + 1]) - a[i, o + 1]
            z = (a[i, 3 * corner + 2] if own else b[j, 3 * corner + 2]) - a[i, o + 2]
            height, length = (mx * x + my * y + mz * z) * scale, np.sqrt(x * x + y * y + z * z)
            if at_i >= 0:
                height = height / length if length > 0.0 else 0.0
            reach = max(reach, length)
            if own:
                inner = max(inner, height)
            else:
                outer = min(outer, height)
        if at_i >= 0 and inner <= 4e-15 and outer >= 1e-6:  # sines of angles at the common corner
            return True
        if at_i < 0 and outer > inner + 1e-12 * reach:
            return True
    return False


@jit
@no_type_check
def neighbours_cross(a: Any, i: int, j: int, faces: Any, f: int, g: int) -> int:
    """As `crossing` for two triangles of one mesh, which may share corners; meeting there does not count."""
    shared, k, m = 0, 0, 0
    for p in range(3):
        for q in range(3):
            if faces[f, p] == faces[g, q]:
                shared, k, m = shared + 1, p, q
    if shared == 0:
        found = crossing(a, i, a, j)
        none = CORNERS[3]
        flat_apart = found == OPEN and (apart_by_side(a, i, none, a, j, none) or apart_by_side(a, j, none, a, i, none))
        return NO if flat_apart else found
    if shared == 1:
        p, q, u, v = (k + 1) % 3, (k + 2) % 3, (m + 1) % 3, (m + 2) % 3
        x, y, z = a[i, 3 * k], a[i, 3 * k + 1], a[i, 3 * k + 2]
        if apart_at_corner(
            a[i, 3 * p] - x, a[i, 3 * p + 1] - y, a[i, 3 * p + 2] - z,
            a[i, 3 * q] - x, a[i, 3 * q + 1] - y, a[i, 3 * q + 2] - z,
            a[j, 3 * u] - x, a[j, 3 * u + 1] - y, a[j, 3 * u + 2] - z,
            a[j, 3 * v] - x, a[j, 3 * v + 1] - y, a[j, 3 * v + 2] - z,
        ):  # fmt: skip
            return NO
        found = side_through(a, i, p, q, a, j, corner_side(a, i, p, a, j), corner_side(a, i, q, a, j))
        if found == YES:
            return YES
        back = side_through(a, j, u, v, a, i, corner_side(a, j, u, a, i), corner_side(a, j, v, a, i))
        found = YES if back == YES else max(found, back)
        flat_apart = found == OPEN and (apart_by_side(a, i, k, a, j, m) or apart_by_side(a, j, m, a, i, k))
        return NO if flat_apart else found
    if shared == 2:
        for p in range(3):
            alone = faces[f, p] != faces[g, 0] and faces[f, p] != faces[g, 1] and faces[f, p] != faces[g, 2]
            if alone and corner_side(a, i, p, a, j) != 0:
                return NO
        turn = a[i, 9] * a[j, 9] + a[i, 10] * a[j, 10] + a[i, 11] * a[j, 11]
        same_way = False
        for p in range(3):
            for q in range(3):
                if faces[f, p] == faces[g, q] and faces[f, (p + 1) % 3] == faces[g, (q + 1) % 3]:
                    same_way = True
        # flat and not folded: equal normals and opposite edge directions, or opposite normals and equal ones
        if (turn > 0.5 and not same_way) or (turn < -0.5 and same_way):
            return NO
    return OPEN


@jit
@no_type_check
def has_surface(slots: Any, s: int) -> bool:
    """Whether a triangle has a normal."""
    return slots[s, 9] != 0.0 or slots[s, 10] != 0.0 or slots[s, 11] != 0.0


@jit
@no_type_check
def classify(pairs: Any, slots_a: Any, slots_b: Any, same: bool, order: Any, faces: Any) -> Any:
    """NO, YES or OPEN for every candidate pair, (P,); NO where one of the two has no surface."""
    answers = np.zeros(len(pairs), dtype=np.int64)
    for n in range(len(pairs)):
        i, j = pairs[n, 0], pairs[n, 1]
        if not (has_surface(slots_a, i) and has_surface(slots_b, j)):
            continue
        if same:
            answers[n] = neighbours_cross(slots_a, i, j, faces, order[i], order[j])
        else:
            answers[n] = crossing(slots_a, i, slots_b, j)
    return answers
