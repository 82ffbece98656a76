"""Compiled lines from a point of the skin: what they meet, out of all triangles or of a few that were listed.

Trees come as tuples of slots, bounds, first and count.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.cone_kernels import ROUNDING
from dressform.mesh.jit import inlined, jit
from dressform.mesh.ray_kernels import hit, meet

OFF_SKIN = 1e-4  # metres: a line into the body starts so far off the skin
MAX_SHELLS = 8  # surfaces that it is followed through


@inlined
@no_type_check
def distance_to(slots: Any, s: int, p: Any, d: Any) -> float:
    """Where the line from p along d meets one triangle, infinite where it does not; negative behind p."""
    x, y, z = abs(d[0]), abs(d[1]), abs(d[2])
    kz = 0 if x >= y and x >= z else (1 if y >= z else 2)
    kx, ky = (kz + 1) % 3, (kz + 2) % 3
    sz = 1.0 / d[kz]
    return hit(
        slots[s, kz] - p[kz], slots[s, 3 + kz] - p[kz], slots[s, 6 + kz] - p[kz],
        slots[s, kx] - p[kx], slots[s, 3 + kx] - p[kx], slots[s, 6 + kx] - p[kx],
        slots[s, ky] - p[ky], slots[s, 3 + ky] - p[ky], slots[s, 6 + ky] - p[ky], d[kx] * sz, d[ky] * sz, sz,
    )  # fmt: skip


@jit
@no_type_check
def blocks(
    tree: Any, p: Any, d: Any, sign: float, near: float, far: float, extent: float, stack: Any, keys: Any
) -> int:
    """Slot of a triangle that blocks a ray, -1 where none does."""
    slot, _ = meet(
        tree[0], tree[1], tree[2], tree[3], p[0], p[1], p[2], sign * d[0], sign * d[1], sign * d[2], near, far, -1,
        True, extent, stack, keys,
    )  # fmt: skip
    return slot


@inlined
@no_type_check
def _shear(d: Any) -> Any:
    """Axes and shears of a frame in which the third axis runs along d, as in `hit`."""
    x, y, z = abs(d[0]), abs(d[1]), abs(d[2])
    kz = 0 if x >= y and x >= z else (1 if y >= z else 2)
    kx, ky = (kz + 1) % 3, (kz + 2) % 3
    return kx, ky, kz, d[kx] / d[kz], d[ky] / d[kz]


@jit
@no_type_check
def in_the_way(slots: Any, points: Any, d: Any, some: Any, number: int, few: Any, boxes: Any) -> int:
    """List which of the slots the lines along d through the points may meet, with their boxes across d."""
    kx, ky, kz, sx, sy = _shear(d)
    x0, x1, y0, y1 = np.inf, -np.inf, np.inf, -np.inf
    for i in range(len(points)):
        x, y = points[i, kx] - sx * points[i, kz], points[i, ky] - sy * points[i, kz]
        x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
    left = 0
    for index in range(number):
        s = some[index]
        ax, bx, cx = (
            slots[s, kx] - sx * slots[s, kz],
            slots[s, 3 + kx] - sx * slots[s, 3 + kz],
            slots[s, 6 + kx] - sx * slots[s, 6 + kz],
        )
        low, high = min(ax, bx, cx) - ROUNDING, max(ax, bx, cx) + ROUNDING
        if high < x0 or low > x1:
            continue
        ay, by, cy = (
            slots[s, ky] - sy * slots[s, kz],
            slots[s, 3 + ky] - sy * slots[s, 3 + kz],
            slots[s, 6 + ky] - sy * slots[s, 6 + kz],
        )
        boxes[left, 0], boxes[left, 1] = low, high
        boxes[left, 2], boxes[left, 3] = min(ay, by, cy) - ROUNDING, max(ay, by, cy) + ROUNDING
        if boxes[left, 3] < y0 or boxes[left, 2] > y1:
            continue
        few[left] = s
        left += 1
    return left


@jit
@no_type_check
def behind(slots: Any, p: Any, d: Any, far: float, few: Any, boxes: Any, left: int) -> bool:
    """Whether the ray from p against d is blocked up to `far` by one of the slots that `in_the_way` listed."""
    kx, ky, kz, sx, sy = _shear(d)
    x, y = p[kx] - sx * p[kz], p[ky] - sy * p[kz]
    for index in range(left):
        if x < boxes[index, 0] or x > boxes[index, 1] or y < boxes[index, 2] or y > boxes[index, 3]:
            continue
        if 0.0 <= -distance_to(slots, few[index], p, d) <= far:
            return True
    return False


@jit
@no_type_check
def nearest_behind(slots: Any, p: Any, d: Any, far: float, few: Any, boxes: Any, left: int) -> Any:
    """The first of these slots that the ray from p against d meets, and where; there is one up to `far`."""
    kx, ky, kz, sx, sy = _shear(d)
    x, y = p[kx] - sx * p[kz], p[ky] - sy * p[kz]
    slot, depth = -1, far
    for index in range(left):
        if x < boxes[index, 0] or x > boxes[index, 1] or y < boxes[index, 2] or y > boxes[index, 3]:
            continue
        at = -distance_to(slots, few[index], p, d)
        if 0.0 <= at <= depth:
            slot, depth = few[index], at
    return slot, depth


@inlined
@no_type_check
def turn(cone: Any, column: int, frame: Any, d: Any, sign: float) -> None:
    """A direction of the cone in a frame, times the sign."""
    for x in range(3):
        d[x] = sign * (cone[column, 0] * frame[0, x] + cone[column, 1] * frame[1, x] + cone[column, 2] * frame[2, x])


@jit
@no_type_check
def backed(cloth: Any, body: Any, p: Any, d: Any, reach: float, sizes: Any, stack: Any, keys: Any) -> bool:
    """Whether the line from a point against d meets cloth up to `reach` before it leaves the body."""
    for any_hit in (True, False):  # the nearest cloth is needed only where some other lies beyond the body
        slot, depth = meet(
            cloth[0], cloth[1], cloth[2], cloth[3], p[0], p[1], p[2], -d[0], -d[1], -d[2], 0.0, reach, -1, any_hit,
            sizes[0], stack, keys,
        )  # fmt: skip
        if slot < 0:
            return False
        if not _leaves(body, p, d, depth, sizes[1], stack, keys):
            return True
    return False


@jit
@no_type_check
def _leaves(body: Any, p: Any, d: Any, depth: float, extent: float, stack: Any, keys: Any) -> bool:
    """Whether the line from a point of the skin against d leaves the body before `depth`."""
    begun, nesting = OFF_SKIN, 1
    for _ in range(MAX_SHELLS if depth > OFF_SKIN else 0):
        slot, at = meet(
            body[0], body[1], body[2], body[3], p[0], p[1], p[2], -d[0], -d[1], -d[2], begun, depth, -1, False, extent,
            stack, keys,
        )  # fmt: skip
        if slot < 0 or at >= depth:
            return False
        outward = -(body[0][slot, 9] * d[0] + body[0][slot, 10] * d[1] + body[0][slot, 11] * d[2])
        nesting += -1 if outward > 0.0 else 1
        if nesting <= 0:
            return True
        begun = at + OFF_SKIN
    return False
