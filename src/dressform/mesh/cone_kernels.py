"""Compiled search for the triangles in a cone: a few are found once, and its rays then ask only these."""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import inlined, jit

WIDER = 1.0 + 1e-9  # of a length: more than the rounding of what it is held against
ROUNDING = 1e-12  # metres


@inlined
@no_type_check
def touching_plane(x: float, y: float, z: float, n: Any, cosine: float) -> Any:
    """Outward normal of the plane that touches the cone on the side of a point seen from its tip; zero on the axis."""
    along = x * n[0] + y * n[1] + z * n[2]
    x, y, z = x - along * n[0], y - along * n[1], z - along * n[2]
    size = math.sqrt(x * x + y * y + z * z)
    if size == 0.0:
        return 0.0, 0.0, 0.0
    size, sine = cosine / size, math.sqrt(1.0 - cosine * cosine)
    return x * size - n[0] * sine, y * size - n[1] * sine, z * size - n[2] * sine


@inlined
@no_type_check
def box_beside_cone(
    bounds: Any, node: int, p: Any, n: Any, low: float, high: float, cosine: float, room: float
) -> bool:
    """Whether a box surely lies outside: below `low`, beyond `high`, or beyond the plane that touches on its side."""
    u, v, w = bounds[node, 3] - bounds[node, 0], bounds[node, 4] - bounds[node, 1], bounds[node, 5] - bounds[node, 2]
    x, y, z = bounds[node, 0] + bounds[node, 3], bounds[node, 1] + bounds[node, 4], bounds[node, 2] + bounds[node, 5]
    u, v, w = 0.5 * u * WIDER + ROUNDING, 0.5 * v * WIDER + ROUNDING, 0.5 * w * WIDER + ROUNDING
    x, y, z = 0.5 * x - p[0], 0.5 * y - p[1], 0.5 * z - p[2]
    if x * n[0] + y * n[1] + z * n[2] + u * abs(n[0]) + v * abs(n[1]) + w * abs(n[2]) < low:
        return True
    if high < np.inf:
        a, b, c = max(abs(x) - u, 0.0), max(abs(y) - v, 0.0), max(abs(z) - w, 0.0)
        if a * a + b * b + c * c > high * high:
            return True
    a, b, c = touching_plane(x, y, z, n, cosine)
    return x * a + y * b + z * c - u * abs(a) - v * abs(b) - w * abs(c) > room


@inlined
@no_type_check
def triangle_beside_cone(slots: Any, s: int, p: Any, n: Any, low: float, cosine: float, room: float) -> bool:
    """Whether a triangle surely lies outside: below `low`, or beyond the plane that touches on its side."""
    ax, ay, az = slots[s, 0] - p[0], slots[s, 1] - p[1], slots[s, 2] - p[2]
    bx, by, bz = slots[s, 3] - p[0], slots[s, 4] - p[1], slots[s, 5] - p[2]
    cx, cy, cz = slots[s, 6] - p[0], slots[s, 7] - p[1], slots[s, 8] - p[2]
    first, second = ax * n[0] + ay * n[1] + az * n[2], bx * n[0] + by * n[1] + bz * n[2]
    if max(first, second, cx * n[0] + cy * n[1] + cz * n[2]) < low:
        return True
    x, y, z = touching_plane(ax + bx + cx, ay + by + cy, az + bz + cz, n, cosine)
    return min(ax * x + ay * y + az * z, bx * x + by * y + bz * z, cx * x + cy * y + cz * z) > room


@jit
@no_type_check
def slots_in_cone(
    tree: Any, tip: Any, spread: float, axis: Any, near: float, far: float, cosine: float, stack: Any, found: Any
) -> int:
    """List the slots that may be met by rays in a cone, in [near, far] from their start; how many, -1 for too many.

    None that a ray meets is left out. Rays start within `spread` of the tip. A tree is its slots, bounds, first and
    count; the axis is of unit length, `stack` room for `STACK` numbers.
    """
    slots, bounds, first, count = tree
    room = spread * WIDER + ROUNDING
    low, high, number, top = near * cosine / WIDER - room, far * WIDER + room, 0, 1
    stack[0] = 0
    while top > 0:
        top -= 1
        node = stack[top]
        if box_beside_cone(bounds, node, tip, axis, low, high, cosine, room):
            continue
        if count[node] == 0:
            stack[top], stack[top + 1] = first[node], first[node] + 1
            top += 2
            continue
        for s in range(first[node], first[node] + count[node]):
            if triangle_beside_cone(slots, s, tip, axis, low, cosine, room):
                continue
            if number == len(found):
                return -1
            found[number] = s
            number += 1
    return number
