"""Compiled search for directions in which a point of the skin is seen.

Trees come as tuples of slots, bounds, first and count. Points that share a frame are asked together and directions in
bundles: for most bundles one search tells that nothing lies behind, and for the others it leaves a few triangles.
What blocks one point in a direction is likely to block the next, so it is asked first.
"""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.mesh.cone_kernels import ROUNDING, slots_in_cone, triangle_beside_cone
from dressform.mesh.jit import inlined, jit
from dressform.mesh.ray_kernels import extent_of, hit, meet
from dressform.mesh.tree_kernels import STACK

OFF_SKIN = 1e-4  # metres: a line into the body starts so far off the skin
ANYWHERE = -1.0  # cosine: whatever cloth lies behind counts
MAX_SHELLS = 8  # surfaces that it is followed through
SOME = 48  # triangles behind a point that are asked one by one; where there are more, rays go down the tree


@inlined
@no_type_check
def _distance(slots: Any, s: int, p: Any, d: Any) -> float:
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
def _blocks(
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
def _in_the_way(slots: Any, points: Any, d: Any, some: Any, number: int, few: Any, boxes: Any) -> int:
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
def _behind(slots: Any, p: Any, d: Any, far: float, few: Any, boxes: Any, left: int) -> bool:
    """Whether the ray from p against d is blocked up to `far` by one of the slots that `_in_the_way` listed."""
    kx, ky, kz, sx, sy = _shear(d)
    x, y = p[kx] - sx * p[kz], p[ky] - sy * p[kz]
    for index in range(left):
        if x < boxes[index, 0] or x > boxes[index, 1] or y < boxes[index, 2] or y > boxes[index, 3]:
            continue
        if 0.0 <= -_distance(slots, few[index], p, d) <= far:
            return True
    return False


@jit
@no_type_check
def _nearest_behind(slots: Any, p: Any, d: Any, far: float, few: Any, boxes: Any, left: int) -> Any:
    """The first of these slots that the ray from p against d meets, and where; there is one up to `far`."""
    kx, ky, kz, sx, sy = _shear(d)
    x, y = p[kx] - sx * p[kz], p[ky] - sy * p[kz]
    slot, depth = -1, far
    for index in range(left):
        if x < boxes[index, 0] or x > boxes[index, 1] or y < boxes[index, 2] or y > boxes[index, 3]:
            continue
        at = -_distance(slots, few[index], p, d)
        if 0.0 <= at <= depth:
            slot, depth = few[index], at
    return slot, depth


@inlined
@no_type_check
def _turn(cone: Any, column: int, frame: Any, d: Any, sign: float) -> None:
    """A direction of the cone in a frame, times the sign."""
    for x in range(3):
        d[x] = sign * (cone[column, 0] * frame[0, x] + cone[column, 1] * frame[1, x] + cone[column, 2] * frame[2, x])


@jit
@no_type_check
def seen_points(
    points: Any, groups: Any, frames: Any, rows: Any, covers: Any, reaches: Any, bundles: Any, last: int, limits: Any,
    cloth: Any, inside: Any, body: Any, base: Any, fresh: Any,
) -> Any:  # fmt: skip
    """Whether each point is seen in a direction of the `last` first bundles, (N,).

    `groups` are bounds of points that follow each other and have one frame, one per group; `bundles` is from
    `cone_bundles`; `limits` are OFF_SKIN, OFF_BODY, BEFORE and OWN. `base` holds, for each slot of `inside`, the
    corners of its cloth triangle now and at the base, and for each group the base vertex and normal; `fresh` the points
    on the base body, the frames of groups there, how far cloth counts as behind them, and cloth and body at the base.
    It starts with an empty array where that is not asked.
    """
    cone, axes, cosines, starts, members = bundles
    off_skin, off_body, before, own = limits
    corners, made_at, normals = base
    seen = np.zeros(len(points), dtype=np.bool_)
    stack, keys, boxes = np.zeros(STACK, dtype=np.int64), np.zeros(STACK), np.zeros((SOME, 4))
    some, part, few = np.zeros(SOME, dtype=np.int64), np.zeros(SOME, dtype=np.int64), np.zeros(SOME, dtype=np.int64)
    d, back, middle = np.zeros(3), np.zeros(3), np.zeros(3)
    known, made = np.full(len(cone), -1), np.full(len(cone), -1)
    sizes = (
        extent_of(cloth[1]),
        extent_of(inside[1]),
        extent_of(body[1]),
        extent_of(fresh[3][1]),
        extent_of(fresh[4][1]),
    )
    for group in range(len(groups) - 1):
        low, high, frame, latest, open_ = groups[group], groups[group + 1], frames[group], -1, -1
        spread, reach = _ball(points[low:high], middle), reaches[low:high].max()
        back[0], back[1], back[2] = -frame[2, 0], -frame[2, 1], -frame[2, 2]
        widest = cosines[0] if last == 1 else cosines[-1]
        around = slots_in_cone(inside, middle, spread, back, 0.0, reach, widest, stack, some)
        for bundle in range(last if around != 0 else 0):
            _turn(axes, bundle, frame, back, -1.0)
            number = _narrowed(inside, middle, spread, back, reach, cosines[bundle], some, around, part, stack)
            for column in members[starts[bundle] : starts[bundle + 1] if number != 0 else starts[bundle]]:
                if covers[rows[group], column] < 0:
                    continue
                _turn(cone, column, frame, d, 1.0)
                left = _in_the_way(inside[0], points[low:high], d, part, number, few, boxes)
                for i in range(low, high if left > 0 or number < 0 else low):
                    p = points[i]
                    if seen[i]:
                        continue
                    if number < 0:
                        if _blocks(inside, p, d, -1.0, 0.0, reaches[i], sizes[1], stack, keys) < 0:
                            continue
                    elif not _behind(inside[0], p, d, reaches[i], few, boxes, left):
                        continue
                    slot = known[column]
                    if slot < 0 or not off_skin <= _distance(cloth[0], slot, p, d) < np.inf:
                        slot = latest
                        if slot < 0 or not off_skin <= _distance(cloth[0], slot, p, d) < np.inf:
                            slot = _blocks(cloth, p, d, 1.0, off_skin, np.inf, sizes[0], stack, keys)
                    if slot >= 0:
                        known[column], latest = slot, slot
                        continue
                    if before > ANYWHERE and not _was_before(
                        inside, p, d, corners, fresh[0][i] if len(fresh[0]) > 0 else made_at[group], normals[group],
                        before, own, sizes[1], reaches[i], few, boxes, left if number >= 0 else -1, stack, keys,
                    ):  # fmt: skip
                        continue
                    if open_ < 0 and high - low > 1:
                        met = slots_in_cone(
                            body, middle, spread, frame[2], off_body, np.inf, cosines[-1], stack, some[:0]
                        )
                        open_ = 1 if met == 0 else 0
                    if open_ <= 0 and _blocks(body, p, d, 1.0, off_body, np.inf, sizes[2], stack, keys) >= 0:
                        continue
                    if len(fresh[0]) > 0:
                        _turn(cone, column, fresh[1][group], back, 1.0)
                        made[column] = _fresh_cover(
                            fresh[3], fresh[4], fresh[0][i], back, off_skin, fresh[2][group], made[column], sizes[3:],
                            stack, keys,
                        )  # fmt: skip
                        if made[column] < 0:
                            continue
                    seen[i] = True
    return seen


@jit
@no_type_check
def _narrowed(
    tree: Any, middle: Any, spread: float, axis: Any, reach: float, cosine: float, some: Any, number: int, part: Any,
    stack: Any,
) -> int:  # fmt: skip
    """List which of the slots lie in a narrower cone; asked of the tree where there were too many, `number` -1."""
    if number < 0:
        return slots_in_cone(tree, middle, spread, axis, 0.0, reach, cosine, stack, part)
    left = 0
    for index in range(number):
        if not triangle_beside_cone(tree[0], some[index], middle, axis, -spread, cosine, spread + ROUNDING):
            part[left] = some[index]
            left += 1
    return left


@jit
@no_type_check
def _ball(points: Any, middle: Any) -> float:
    """Middle of some points, and the radius about it that holds them all, metres."""
    for x in range(3):
        middle[x] = points[:, x].mean() if len(points) > 1 else points[0, x]
    farthest = 0.0
    for i in range(len(points)):
        x, y, z = points[i, 0] - middle[0], points[i, 1] - middle[1], points[i, 2] - middle[2]
        farthest = max(farthest, x * x + y * y + z * z)
    return math.sqrt(farthest)


@jit
@no_type_check
def _backed(cloth: Any, body: Any, p: Any, d: Any, reach: float, sizes: Any, stack: Any, keys: Any) -> bool:
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


@jit
@no_type_check
def _was_before(
    inside: Any, p: Any, d: Any, corners: Any, there: Any, normal: Any, before: float, own: float, extent: float,
    reach: float, few: Any, boxes: Any, left: int, stack: Any, keys: Any,
) -> bool:  # fmt: skip
    """Whether the cloth behind a point lay before its skin at the base, where that skin was `there`.

    `left` tells how many slots `_in_the_way` listed, -1 where the tree is asked.
    """
    if left < 0:
        slot, depth = meet(
            inside[0], inside[1], inside[2], inside[3], p[0], p[1], p[2], -d[0], -d[1], -d[2], 0.0, reach, -1, False,
            extent, stack, keys,
        )  # fmt: skip
    else:
        slot, depth = _nearest_behind(inside[0], p, d, reach, few, boxes, left)
    aa, ab, bb, ac, bc = 0.0, 0.0, 0.0, 0.0, 0.0
    for x in range(3):
        a, b = corners[0, slot, 1, x] - corners[0, slot, 0, x], corners[0, slot, 2, x] - corners[0, slot, 0, x]
        c = p[x] - depth * d[x] - corners[0, slot, 0, x]
        aa, ab, bb, ac, bc = aa + a * a, ab + a * b, bb + b * b, ac + a * c, bc + b * c
    whole = aa * bb - ab * ab
    u, v = (1.0 / 3.0, 1.0 / 3.0) if whole == 0.0 else ((bb * ac - ab * bc) / whole, (aa * bc - ab * ac) / whole)
    up, square = 0.0, 0.0
    for x in range(3):
        a, b, c = corners[1, slot, 0, x], corners[1, slot, 1, x], corners[1, slot, 2, x]
        away = a + u * (b - a) + v * (c - a) - there[x]
        up, square = up + away * normal[x], square + away * away
    length = math.sqrt(square)
    return up > before * length or length < own


@jit
@no_type_check
def _fresh_cover(
    cloth: Any, body: Any, p: Any, d: Any, off_skin: float, reach: float, slot: int, sizes: Any, stack: Any, keys: Any
) -> int:
    """What blocked a direction of a point at the base, where it had no cloth behind the skin; else -1."""
    if slot < 0 or not off_skin <= _distance(cloth[0], slot, p, d) < np.inf:
        slot = _blocks(cloth, p, d, 1.0, off_skin, np.inf, sizes[0], stack, keys)
    if slot < 0 or _backed(cloth, body, p, d, reach, sizes, stack, keys):
        return -1
    return slot


@jit
@no_type_check
def hidden_points(
    points: Any, frames: Any, reaches: Any, bundles: Any, off_skin: float, off_body: float, share: float, cloth: Any,
    body: Any,
) -> Any:  # fmt: skip
    """Whether the cloth blocks more than a share of the directions that the body leaves free to each point, (N,).

    Directions with cloth behind the skin, up to `reaches` and in the body, do not count as blocked.
    """
    cone, axes, cosines, starts, members = bundles
    kept, total = np.zeros(len(points), dtype=np.bool_), len(cone)
    stack, keys, some = np.zeros(STACK, dtype=np.int64), np.zeros(STACK), np.zeros(SOME, dtype=np.int64)
    few, boxes = np.zeros(SOME, dtype=np.int64), np.zeros((SOME, 4))
    d, back, known = np.zeros(3), np.zeros(3), np.full(total, -1)
    outer, inner = extent_of(cloth[1]), extent_of(body[1])
    for i in range(len(points)):
        p, frame, free, covered = points[i], frames[i], total, 0
        met = slots_in_cone(body, p, 0.0, frame[2], off_body, np.inf, cosines[-1], stack, some[:0])
        for bundle in range(len(axes)):
            if covered > share * free or covered + total - starts[bundle] <= share * free:
                break
            _turn(axes, bundle, frame, back, -1.0)
            number = slots_in_cone(cloth, p, 0.0, back, 0.0, reaches[i], cosines[bundle], stack, some)
            for column in members[starts[bundle] : starts[bundle + 1]]:
                _turn(cone, column, frame, d, 1.0)
                if met != 0 and _blocks(body, p, d, 1.0, off_body, np.inf, inner, stack, keys) >= 0:
                    free -= 1
                    continue
                slot = known[column]
                if slot < 0 or not off_skin <= _distance(cloth[0], slot, p, d) < np.inf:
                    slot = _blocks(cloth, p, d, 1.0, off_skin, np.inf, outer, stack, keys)
                if slot < 0:
                    continue
                known[column] = slot
                left = _in_the_way(cloth[0], points[i : i + 1], d, some, number, few, boxes)
                if number >= 0 and not _behind(cloth[0], p, d, reaches[i], few, boxes, left):
                    covered += 1
                else:
                    covered += not _backed(cloth, body, p, d, reaches[i], (outer, inner), stack, keys)
        kept[i] = covered > share * free
    return kept
