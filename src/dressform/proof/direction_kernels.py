"""Compiled search for the direction along which two moving triangles keep the widest gap over a piece of the range.

The least gap along a unit direction n is the least of n · g over all differences g of their corners at all shapes of
the piece. The largest such least is the distance of the origin from the convex hull of these g, and n the way to its
nearest point. Only the g that is least along a direction can be asked for, so the hull is approached point by point
[Gilbert1988]: each round gives a bound that holds, and one that no direction can exceed.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit
from dressform.proof.bound_kernels import along, nearest_corners

ROUNDS = 24  # most rounds; few are needed, as each adds the point that is worst along the last direction
CLOSE = 1e-9  # metres; bound and what no direction exceeds are this near: no more is gained


@jit
@no_type_check
def widest_gap(
    cloth: Any, body: Any, t: Any, s: Any, low: Any, high: Any, enough: float, along_a: Any, along_b: Any, n: Any,
    trial: Any, hull: Any, shares: Any,
) -> float:  # fmt: skip
    """Largest bound found, from the unit direction `trial` on; its direction goes into `n`.

    It ends once the bound is `enough`, or no direction can reach that. `hull` is (5, 3), `shares` (4,).

    Proof: tests/proof/test_widest_gap.py
    """
    most, count = -np.inf, 0
    if trial[0] == 0.0 and trial[1] == 0.0 and trial[2] == 0.0:
        trial[1] = 1.0
    for _ in range(ROUNDS):
        along(cloth, t, trial, along_a)
        along(body, s, trial, along_b)
        value, i, j = nearest_corners(along_a, along_b, low, high)
        if value > most:
            most = value
            n[0], n[1], n[2] = trial[0], trial[1], trial[2]
        if most >= enough:
            break
        for x in range(3):
            difference = cloth[t[i], 0, x] - body[s[j], 0, x]
            for k in range(len(low)):
                slope = along_a[i, k + 1] - along_b[j, k + 1]
                weight = low[k] if low[k] * slope < high[k] * slope else high[k]
                difference += weight * (cloth[t[i], k + 1, x] - body[s[j], k + 1, x])
            hull[count, x] = difference
        count = keep_nearest(hull, count + 1, shares, trial)
        distance = np.sqrt(trial[0] * trial[0] + trial[1] * trial[1] + trial[2] * trial[2])
        if distance < enough or distance - most < CLOSE or count == 4:
            break
        trial[0], trial[1], trial[2] = trial[0] / distance, trial[1] / distance, trial[2] / distance
    return most


@jit
@no_type_check
def keep_nearest(hull: Any, count: int, shares: Any, nearest: Any) -> int:
    """Point nearest to the origin of the hull of one to four points, into `nearest`; only those that span it are kept.

    Every set of the corners is tried. Returns how many are kept, first in `hull`; four hold the origin between them.
    """
    least, best = np.inf, 0
    kept = hull[4]
    for chosen in range(1, 1 << count):
        if not _shares_of(hull, count, chosen, shares):
            continue
        x, y, z = 0.0, 0.0, 0.0
        for i in range(count):
            if chosen >> i & 1:
                x, y, z = x + shares[i] * hull[i, 0], y + shares[i] * hull[i, 1], z + shares[i] * hull[i, 2]
        length = x * x + y * y + z * z
        if length < least:
            least, best = length, chosen
            kept[0], kept[1], kept[2] = x, y, z
    nearest[0], nearest[1], nearest[2] = kept[0], kept[1], kept[2]
    left = 0
    for i in range(count):
        if best >> i & 1:
            hull[left, 0], hull[left, 1], hull[left, 2] = hull[i, 0], hull[i, 1], hull[i, 2]
            left += 1
    return left


@jit
@no_type_check
def _shares_of(hull: Any, count: int, chosen: int, shares: Any) -> bool:
    """Shares of the chosen corners in the point of their plane nearest to the origin; whether it lies between them."""
    first, size = -1, 0
    ux, uy, uz, vx, vy, vz, wx, wy, wz = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    second, third, fourth = 0, 0, 0
    for i in range(count):
        if not chosen >> i & 1:
            continue
        if size == 0:
            first = i
        else:
            x, y, z = hull[i, 0] - hull[first, 0], hull[i, 1] - hull[first, 1], hull[i, 2] - hull[first, 2]
            if size == 1:
                second, ux, uy, uz = i, x, y, z
            elif size == 2:
                third, vx, vy, vz = i, x, y, z
            else:
                fourth, wx, wy, wz = i, x, y, z
        size += 1
    ox, oy, oz = -hull[first, 0], -hull[first, 1], -hull[first, 2]
    if size == 1:
        shares[first] = 1.0
        return True
    uu, uo = ux * ux + uy * uy + uz * uz, ux * ox + uy * oy + uz * oz
    if size == 2:
        if uu <= 0.0:
            return False
        a = uo / uu
        shares[first], shares[second] = 1.0 - a, a
        return 0.0 <= a <= 1.0
    uv, vv, vo = ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz, vx * ox + vy * oy + vz * oz
    if size == 3:
        area = uu * vv - uv * uv
        if area <= 1e-12 * uu * vv:
            return False
        a, b = (vv * uo - uv * vo) / area, (uu * vo - uv * uo) / area
        shares[first], shares[second], shares[third] = 1.0 - a - b, a, b
        return a >= 0.0 and b >= 0.0 and a + b <= 1.0
    cx, cy, cz = vy * wz - vz * wy, vz * wx - vx * wz, vx * wy - vy * wx
    volume = ux * cx + uy * cy + uz * cz
    ww = wx * wx + wy * wy + wz * wz
    if volume * volume <= 1e-18 * uu * vv * ww:
        return False
    a = (ox * cx + oy * cy + oz * cz) / volume
    b = (ox * (wy * uz - wz * uy) + oy * (wz * ux - wx * uz) + oz * (wx * uy - wy * ux)) / volume
    c = (ox * (uy * vz - uz * vy) + oy * (uz * vx - ux * vz) + oz * (ux * vy - uy * vx)) / volume
    shares[first], shares[second], shares[third], shares[fourth] = 1.0 - a - b - c, a, b, c
    return a >= 0.0 and b >= 0.0 and c >= 0.0 and a + b + c <= 1.0
