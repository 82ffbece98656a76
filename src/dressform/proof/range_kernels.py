"""Compiled search for the triangle pairs that are not separated along an axis over the whole range.

A box with terms bounds, for every coordinate, the base position and each morph's displacement of all triangles
inside it. Two such boxes are apart for every weight in the range when along some axis the gap, lowered by the worst
of every morph, stays above the margin: the weights are separable, so that worst is the least of four products.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit

STACK = 8192  # deeper than any two trees of 2^60 leaves can fill: a pair pushes at most one more than it takes


@jit
@no_type_check
def node_boxes(terms: Any, faces: Any, order: Any, first: Any, count: Any) -> Any:
    """Boxes of every node, (N, M, 3, 2), leaves first, then parents."""
    nodes, amount = len(first), terms.shape[1]
    boxes = np.zeros((nodes, amount, 3, 2))
    for node in range(nodes - 1, -1, -1):
        at = first[node]
        if count[node] == 0:
            for m in range(amount):
                for x in range(3):
                    boxes[node, m, x, 0] = min(boxes[at, m, x, 0], boxes[at + 1, m, x, 0])
                    boxes[node, m, x, 1] = max(boxes[at, m, x, 1], boxes[at + 1, m, x, 1])
        else:
            boxes[node, :, :, 0] = np.inf
            boxes[node, :, :, 1] = -np.inf
            for s in range(at, at + count[node]):
                widen(boxes[node], terms, faces[order[s]])
    return boxes


@jit
@no_type_check
def widen(box: Any, terms: Any, corners: Any) -> None:
    """Grow a box with terms, (M, 3, 2), to hold a triangle."""
    for c in range(3):
        for m in range(terms.shape[1]):
            for x in range(3):
                value = terms[corners[c], m, x]
                box[m, x, 0] = min(box[m, x, 0], value)
                box[m, x, 1] = max(box[m, x, 1], value)


@jit
@no_type_check
def apart(a: Any, b: Any, low: Any, high: Any, margin: float) -> bool:
    """Whether two boxes with terms keep `margin` along some axis at every weight of the range."""
    for x in range(3):
        above, under = a[0, x, 0] - b[0, x, 1], b[0, x, 0] - a[0, x, 1]
        for k in range(len(low)):
            least, most = a[k + 1, x, 0] - b[k + 1, x, 1], a[k + 1, x, 1] - b[k + 1, x, 0]
            products = (low[k] * least, low[k] * most, high[k] * least, high[k] * most)
            above += min(products)
            under -= max(products)
        if above >= margin or under >= margin:
            return True
    return False


@jit
@no_type_check
def leaf_pairs(
    boxes_a: Any,
    first_a: Any,
    count_a: Any,
    boxes_b: Any,
    first_b: Any,
    count_b: Any,
    low: Any,
    high: Any,
    margin: float,
) -> Any:
    """Pairs of leaves that are not apart, (L, 2)."""
    found = np.zeros((1024, 2), dtype=np.int64)
    stack = np.zeros((STACK, 2), dtype=np.int64)
    used, top = 0, 1
    while top > 0:
        top -= 1
        a, b = stack[top, 0], stack[top, 1]
        if apart(boxes_a[a], boxes_b[b], low, high, margin):
            continue
        leaf_a, leaf_b = count_a[a] > 0, count_b[b] > 0
        if leaf_a and leaf_b:
            if used == len(found):
                longer = np.zeros((2 * used, 2), dtype=np.int64)
                longer[:used] = found
                found = longer
            found[used, 0], found[used, 1] = a, b
            used += 1
            continue
        size_a, size_b = 0.0, 0.0
        for x in range(3):
            size_a = max(size_a, boxes_a[a, 0, x, 1] - boxes_a[a, 0, x, 0])
            size_b = max(size_b, boxes_b[b, 0, x, 1] - boxes_b[b, 0, x, 0])
        split_a = leaf_b or (not leaf_a and size_a >= size_b)
        for child in range(2):
            stack[top, 0] = first_a[a] + child if split_a else a
            stack[top, 1] = b if split_a else first_b[b] + child
            top += 1
    return found[:used].copy()


@jit
@no_type_check
def triangle_pairs(
    leaves: Any,
    order_a: Any, first_a: Any, count_a: Any, terms_a: Any, faces_a: Any,
    order_b: Any, first_b: Any, count_b: Any, terms_b: Any, faces_b: Any,
    low: Any, high: Any, margin: float, most: int,
) -> Any:  # fmt: skip
    """Pairs of triangles of the given leaves that are not apart, (P, 2); `most` triangles to a leaf."""
    found = np.zeros((4096, 2), dtype=np.int64)
    used = 0
    boxes_a = np.zeros((most, terms_a.shape[1], 3, 2))
    boxes_b = np.zeros((most, terms_b.shape[1], 3, 2))
    last_a = -1
    for p in range(len(leaves)):
        a, b = leaves[p, 0], leaves[p, 1]
        if a != last_a:
            triangle_boxes(boxes_a, terms_a, faces_a, order_a, first_a[a], count_a[a])
            last_a = a
        triangle_boxes(boxes_b, terms_b, faces_b, order_b, first_b[b], count_b[b])
        for s in range(count_a[a]):
            for t in range(count_b[b]):
                if apart(boxes_a[s], boxes_b[t], low, high, margin):
                    continue
                if used == len(found):
                    longer = np.zeros((2 * used, 2), dtype=np.int64)
                    longer[:used] = found
                    found = longer
                found[used, 0], found[used, 1] = order_a[first_a[a] + s], order_b[first_b[b] + t]
                used += 1
    return found[:used].copy()


@jit
@no_type_check
def triangle_boxes(boxes: Any, terms: Any, faces: Any, order: Any, start: int, count: int) -> None:
    """Boxes with terms of the triangles of one leaf."""
    for s in range(count):
        boxes[s, :, :, 0] = np.inf
        boxes[s, :, :, 1] = -np.inf
        widen(boxes[s], terms, faces[order[start + s]])
