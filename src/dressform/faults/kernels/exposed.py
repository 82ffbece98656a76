"""Compiled search for directions in which a point of the skin is seen.

Trees come as tuples of slots, bounds, first and count. Points that share a frame are asked together and directions in
bundles: for most bundles one search tells that nothing lies behind, and for the others it leaves a few triangles.
What blocks one point in a direction is likely to block the next, so it is asked first.
"""

import math
from typing import Any, no_type_check

import numpy as np

from dressform.faults.kernels.lines import backed, behind, blocks, distance_to, in_the_way, nearest_behind, turn
from dressform.mesh.cone_kernels import ROUNDING, slots_in_cone, triangle_beside_cone
from dressform.mesh.jit import jit
from dressform.mesh.ray_kernels import extent_of, meet
from dressform.mesh.tree_kernels import STACK

ANYWHERE = -1.0  # cosine: whatever cloth lies behind counts
SOME = 48  # triangles behind a point that are asked one by one; where there are more, rays go down the tree


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
            turn(axes, bundle, frame, back, -1.0)
            number = _narrowed(inside, middle, spread, back, reach, cosines[bundle], some, around, part, stack)
            for column in members[starts[bundle] : starts[bundle + 1] if number != 0 else starts[bundle]]:
                if covers[rows[group], column] < 0:
                    continue
                turn(cone, column, frame, d, 1.0)
                left = in_the_way(inside[0], points[low:high], d, part, number, few, boxes)
                for i in range(low, high if left > 0 or number < 0 else low):
                    p = points[i]
                    if seen[i]:
                        continue
                    if number < 0:
                        if blocks(inside, p, d, -1.0, 0.0, reaches[i], sizes[1], stack, keys) < 0:
                            continue
                    elif not behind(inside[0], p, d, reaches[i], few, boxes, left):
                        continue
                    slot = known[column]
                    if slot < 0 or not off_skin <= distance_to(cloth[0], slot, p, d) < np.inf:
                        slot = latest
                        if slot < 0 or not off_skin <= distance_to(cloth[0], slot, p, d) < np.inf:
                            slot = blocks(cloth, p, d, 1.0, off_skin, np.inf, sizes[0], stack, keys)
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
                    if open_ <= 0 and blocks(body, p, d, 1.0, off_body, np.inf, sizes[2], stack, keys) >= 0:
                        continue
                    if len(fresh[0]) > 0:
                        turn(cone, column, fresh[1][group], back, 1.0)
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
def _was_before(
    inside: Any, p: Any, d: Any, corners: Any, there: Any, normal: Any, before: float, own: float, extent: float,
    reach: float, few: Any, boxes: Any, left: int, stack: Any, keys: Any,
) -> bool:  # fmt: skip
    """Whether the cloth behind a point lay before its skin at the base, where that skin was `there`.

    `left` tells how many slots `in_the_way` listed, -1 where the tree is asked.
    """
    if left < 0:
        slot, depth = meet(
            inside[0], inside[1], inside[2], inside[3], p[0], p[1], p[2], -d[0], -d[1], -d[2], 0.0, reach, -1, False,
            extent, stack, keys,
        )  # fmt: skip
    else:
        slot, depth = nearest_behind(inside[0], p, d, reach, few, boxes, left)
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
    if slot < 0 or not off_skin <= distance_to(cloth[0], slot, p, d) < np.inf:
        slot = blocks(cloth, p, d, 1.0, off_skin, np.inf, sizes[0], stack, keys)
    if slot < 0 or backed(cloth, body, p, d, reach, sizes, stack, keys):
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
            turn(axes, bundle, frame, back, -1.0)
            number = slots_in_cone(cloth, p, 0.0, back, 0.0, reaches[i], cosines[bundle], stack, some)
            for column in members[starts[bundle] : starts[bundle + 1]]:
                turn(cone, column, frame, d, 1.0)
                if met != 0 and blocks(body, p, d, 1.0, off_body, np.inf, inner, stack, keys) >= 0:
                    free -= 1
                    continue
                slot = known[column]
                if slot < 0 or not off_skin <= distance_to(cloth[0], slot, p, d) < np.inf:
                    slot = blocks(cloth, p, d, 1.0, off_skin, np.inf, outer, stack, keys)
                if slot < 0:
                    continue
                known[column] = slot
                left = in_the_way(cloth[0], points[i : i + 1], d, some, number, few, boxes)
                if number >= 0 and not behind(cloth[0], p, d, reaches[i], few, boxes, left):
                    covered += 1
                else:
                    covered += not backed(cloth, body, p, d, reaches[i], (outer, inner), stack, keys)
        kept[i] = covered > share * free
    return kept
