"""Compiled search for pairs of triangles that touch or lie near each other: two trees walked at once."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.crossing_kernels import YES, crossing
from dressform.mesh.jit import jit
from dressform.mesh.nearest_kernels import closest_on_triangle

SAFE = 1.0 + 1e-12  # more than the rounding of a squared gap: no pair is lost to it
PAIR_STACK = 1024  # two depths of at most STACK, three pushes a step


@jit
@no_type_check
def box_gap2(a: Any, i: int, b: Any, j: int) -> float:
    """Squared distance between box i of one list and box j of another; 0 where they touch."""
    total = 0.0
    for k in range(3):
        gap = max(a[i, k] - b[j, 3 + k], b[j, k] - a[i, 3 + k], 0.0)
        total += gap * gap
    return total


@jit
@no_type_check
def slot_boxes(slots: Any) -> Any:
    """Box of every slot, (F, 6)."""
    boxes = np.zeros((len(slots), 6))
    for s in range(len(slots)):
        for k in range(3):
            a, b, c = slots[s, k], slots[s, 3 + k], slots[s, 6 + k]
            boxes[s, k], boxes[s, 3 + k] = min(a, b, c), max(a, b, c)
    return boxes


@jit
@no_type_check
def node_maxima(first: Any, count: Any, values: Any) -> Any:
    """Largest value of the slots below every node, (N,)."""
    maxima = np.zeros(len(first))
    for node in range(len(first) - 1, -1, -1):
        at = first[node]
        if count[node] == 0:
            maxima[node] = max(maxima[at], maxima[at + 1])
        else:
            for s in range(at, at + count[node]):
                maxima[node] = max(maxima[node], values[s])
    return maxima


@jit
@no_type_check
def candidate_pairs(
    first_a: Any, count_a: Any, bounds_a: Any, slots_a: Any, reach_a: Any,
    first_b: Any, count_b: Any, bounds_b: Any, slots_b: Any, reach_b: Any, same: bool,
) -> Any:  # fmt: skip
    """Slot pairs whose boxes are no farther apart than the reach of both together: an array and how many rows count.

    With `same` both trees are one, and each pair is given once.
    """
    boxes_a, boxes_b = slot_boxes(slots_a), slot_boxes(slots_b)
    nodes_a, nodes_b = node_maxima(first_a, count_a, reach_a), node_maxima(first_b, count_b, reach_b)
    pairs = np.zeros((1024, 2), dtype=np.int64)
    stack = np.zeros((PAIR_STACK, 2), dtype=np.int64)
    used, top = 0, 1
    while top > 0:
        top -= 1
        a, b = stack[top, 0], stack[top, 1]
        reach = nodes_a[a] + nodes_b[b]
        if box_gap2(bounds_a, a, bounds_b, b) > reach * reach * SAFE:
            continue
        at_a, at_b, leaf_a, leaf_b = first_a[a], first_b[b], count_a[a], count_b[b]
        if leaf_a > 0 and leaf_b > 0:
            if used + leaf_a * leaf_b > len(pairs):
                grown = np.zeros((2 * len(pairs) + leaf_a * leaf_b, 2), dtype=np.int64)
                for n in range(used):  # slices would take numba seconds to compile
                    grown[n, 0], grown[n, 1] = pairs[n, 0], pairs[n, 1]
                pairs = grown
            for i in range(at_a, at_a + leaf_a):
                for j in range(max(at_b, i + 1) if same else at_b, at_b + leaf_b):
                    reach = reach_a[i] + reach_b[j]
                    if box_gap2(boxes_a, i, boxes_b, j) <= reach * reach * SAFE:
                        pairs[used, 0], pairs[used, 1] = i, j
                        used += 1
        elif same and a == b:
            stack[top, 0], stack[top, 1] = at_a, at_a
            stack[top + 1, 0], stack[top + 1, 1] = at_a + 1, at_a + 1
            stack[top + 2, 0], stack[top + 2, 1] = at_a, at_a + 1
            top += 3
        else:
            size_a, size_b = 0.0, 0.0
            for k in range(3):
                size_a += bounds_a[a, 3 + k] - bounds_a[a, k]
                size_b += bounds_b[b, 3 + k] - bounds_b[b, k]
            split_a = leaf_b > 0 or (leaf_a == 0 and size_a >= size_b)
            for child in range(2):
                stack[top, 0] = at_a + child if split_a else a
                stack[top, 1] = b if split_a else at_b + child
                top += 1
    return pairs, used


@jit
@no_type_check
def corner_gap2(a: Any, i: int, k: int, b: Any, j: int) -> float:
    """Squared distance from corner k of triangle i to triangle j."""
    ax, ay, az = a[i, 3 * k] - b[j, 0], a[i, 3 * k + 1] - b[j, 1], a[i, 3 * k + 2] - b[j, 2]
    ux, uy, uz = b[j, 3] - b[j, 0], b[j, 4] - b[j, 1], b[j, 5] - b[j, 2]
    vx, vy, vz = b[j, 6] - b[j, 0], b[j, 7] - b[j, 1], b[j, 8] - b[j, 2]
    _, v, w = closest_on_triangle(ax, ay, az, ux, uy, uz, vx, vy, vz, b[j, 9], b[j, 10], b[j, 11])
    dx, dy, dz = ax - v * ux - w * vx, ay - v * uy - w * vy, az - v * uz - w * vz
    return dx * dx + dy * dy + dz * dz


@jit
@no_type_check
def side_gap2(a: Any, i: int, k: int, b: Any, j: int, m: int) -> float:
    """Squared distance from the side that starts at corner k of triangle i to that at corner m of triangle j."""
    p, q, r, s = 3 * k, 3 * ((k + 1) % 3), 3 * m, 3 * ((m + 1) % 3)
    uu, uv, vv, uw, vw = 0.0, 0.0, 0.0, 0.0, 0.0
    for x in range(3):
        u, v, w = a[i, q + x] - a[i, p + x], b[j, s + x] - b[j, r + x], a[i, p + x] - b[j, r + x]
        uu, uv, vv, uw, vw = uu + u * u, uv + u * v, vv + v * v, uw + u * w, vw + v * w
    parallel = uu * vv - uv * uv
    along_u = min(max((uv * vw - uw * vv) / parallel, 0.0), 1.0) if parallel > 1e-15 * uu * vv else 0.0
    along_v = min(max((uv * along_u + vw) / vv, 0.0), 1.0) if vv > 0.0 else 0.0
    along_u = min(max((uv * along_v - uw) / uu, 0.0), 1.0) if uu > 0.0 else 0.0
    total = 0.0
    for x in range(3):
        u, v, w = a[i, q + x] - a[i, p + x], b[j, s + x] - b[j, r + x], a[i, p + x] - b[j, r + x]
        gap = w + along_u * u - along_v * v
        total += gap * gap
    return total


@jit
@no_type_check
def pair_gaps(pairs: Any, slots_a: Any, slots_b: Any) -> Any:
    """Distance of every pair of triangles (P,), and their longest side (P,)."""
    gaps = np.zeros(len(pairs))
    sizes = np.zeros(len(pairs))
    for n in range(len(pairs)):
        i, j = pairs[n, 0], pairs[n, 1]
        best, size = np.inf, 0.0
        for k in range(3):
            best = min(best, corner_gap2(slots_a, i, k, slots_b, j), corner_gap2(slots_b, j, k, slots_a, i))
            for m in range(3):
                best = min(best, side_gap2(slots_a, i, k, slots_b, j, m))
            p, q = 3 * k, 3 * ((k + 1) % 3)
            length_a, length_b = 0.0, 0.0
            for x in range(3):
                step_a, step_b = slots_a[i, q + x] - slots_a[i, p + x], slots_b[j, q + x] - slots_b[j, p + x]
                length_a, length_b = length_a + step_a * step_a, length_b + step_b * step_b
            size = max(size, length_a, length_b)
        if best > 0.0 and crossing(slots_a, i, slots_b, j) == YES:
            best = 0.0
        gaps[n], sizes[n] = np.sqrt(best), np.sqrt(size)
    return gaps, sizes
