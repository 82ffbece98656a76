"""Nested dissection: an order of elimination in which a surface mesh's factor stays sparse.

A set of vertices is cut in two across its longest side; the vertices of one half that touch the other are its
separator. Halves are cut again until they are small. Eliminated last, a separator keeps its halves apart: a surface of
n vertices then fills n log n entries, where an arbitrary order fills n².
"""

from dataclasses import dataclass
from typing import no_type_check

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array

from dressform.mesh.jit import jit

LEAF = 16  # a set of so few vertices is not cut again: dense blocks of this size cost least


@dataclass(frozen=True)
class Dissection:
    """Blocks of vertices in the order of elimination; a block follows all that lie below it.

    Attributes:
        order: Vertex at each place of the order, (N,).
        starts: First place of each block, and N at the end, (S,), S = T + 1.
        parents: Block that each hangs under, -1 at a root, (T,).
        border_starts: First entry in `borders` of each block, and their number at the end, (S,), S = T + 1.
        borders: Later places that each block touches once all below it is eliminated, rising.
    """

    order: Int[np.ndarray, " N"]
    starts: Int[np.ndarray, " S"]
    parents: Int[np.ndarray, " T"]
    border_starts: Int[np.ndarray, " S"]
    borders: Int[np.ndarray, " E"]

    @property
    def tables(self) -> tuple[Int[np.ndarray, " S"], Int[np.ndarray, " S"], Int[np.ndarray, " E"]]:
        """What a kernel needs to walk the blocks: `starts`, `border_starts`, `borders`."""
        return self.starts, self.border_starts, self.borders


def dissect(graph: csr_array, points: Float[np.ndarray, "N 3"], *, leaf: int = LEAF) -> Dissection:
    """Cut a graph whose vertices lie at `points`, metres, into blocks of at most about `leaf` or a separator.

    Source: nested dissection [George1973], with cuts by coordinates.
    Proof: tests/lift/test_dissection.py::test_blocks_touch_only_themselves_and_their_ancestors
    """
    neighbours, pointers = graph.indices.astype(np.int64), graph.indptr.astype(np.int64)
    order, starts, parents = _cut(pointers, neighbours, np.ascontiguousarray(points), leaf)
    border_starts, borders = _touch(pointers, neighbours, order, starts, parents)
    return Dissection(order, starts, parents, border_starts, borders)


@jit
@no_type_check
def _cut(pointers, neighbours, points, leaf):
    """Blocks in reverse: a separator is placed at the end of its range, then its two halves before it."""
    count = len(points)
    order = np.arange(count)
    side = np.zeros(count, dtype=np.int8)  # 0 outside the set at hand, 1 and 2 its halves, 3 separator
    begins, ends = np.zeros(count + 1, dtype=np.int64), np.zeros(count + 1, dtype=np.int64)
    above = np.zeros(count + 1, dtype=np.int64)
    stack = [(0, count, -1)]
    blocks = 0
    while len(stack) > 0:
        low, high, parent = stack.pop()
        if high == low:
            continue
        members = order[low:high].copy()
        cut = high
        if high - low > leaf:
            _halve(members, points, side)
            first, second = _separate(members, pointers, neighbours, side)
            cut = low + first + second
            places = np.array([low, low + first, cut])
            for vertex in members:
                where = side[vertex] - 1
                order[places[where]] = vertex
                places[where] += 1
                side[vertex] = 0
            middle = low + first
        if cut == high and high - low > leaf:  # the halves do not touch: no separator, two trees
            stack.append((low, middle, parent))
            stack.append((middle, high, parent))
            continue
        own = low if high - low <= leaf else cut
        begins[blocks], ends[blocks], above[blocks] = own, high, parent
        if own > low:
            stack.append((low, middle, blocks))
            stack.append((middle, cut, blocks))
        blocks += 1
    rank = np.argsort(begins[:blocks])
    place = np.zeros(blocks, dtype=np.int64)
    place[rank] = np.arange(blocks)
    starts = np.full(blocks + 1, count)
    parents = np.full(blocks, -1)
    for new in range(blocks):
        starts[new] = begins[rank[new]]
        if above[rank[new]] >= 0:
            parents[new] = place[above[rank[new]]]
    return order, starts, parents


@jit
@no_type_check
def _halve(members, points, side):
    """Mark the members 1 or 2 by the median along their longest side."""
    axis, widest = 0, -1.0
    for k in range(3):
        low, high = np.inf, -np.inf
        for vertex in members:
            low, high = min(low, points[vertex, k]), max(high, points[vertex, k])
        if high - low > widest:
            axis, widest = k, high - low
    heights = np.zeros(len(members))
    for index in range(len(members)):
        heights[index] = points[members[index], axis]
    rank = np.argsort(heights, kind="mergesort")
    half = len(members) // 2
    for index in range(len(members)):
        side[members[rank[index]]] = 1 if index < half else 2


@jit
@no_type_check
def _separate(members, pointers, neighbours, side):
    """Mark as 3 the members of the half with the shorter rim that touch the other half; return the remaining sizes."""
    rims = np.zeros(2, dtype=np.int64)
    for vertex in members:
        for entry in range(pointers[vertex], pointers[vertex + 1]):
            if side[neighbours[entry]] == 3 - side[vertex]:
                rims[side[vertex] - 1] += 1
                break
    taken = 1 if rims[0] <= rims[1] else 2
    sizes = np.zeros(2, dtype=np.int64)
    for vertex in members:
        if side[vertex] == taken:
            for entry in range(pointers[vertex], pointers[vertex + 1]):
                if side[neighbours[entry]] == 3 - taken:
                    side[vertex] = 3
                    break
        if side[vertex] != 3:
            sizes[side[vertex] - 1] += 1
    return sizes[0], sizes[1]


@jit
@no_type_check
def _touch(pointers, neighbours, order, starts, parents):
    """Borders of all blocks: the later vertices that they touch, and those passed up by the blocks below."""
    count, blocks = len(order), len(parents)
    place = np.zeros(count, dtype=np.int64)
    place[order] = np.arange(count)
    seen = np.full(count, -1)
    border_starts = np.zeros(blocks + 1, dtype=np.int64)
    borders = np.zeros(8 * count + 64, dtype=np.int64)
    first_child, next_child = np.full(blocks, -1), np.full(blocks, -1)
    total = 0
    for block in range(blocks):
        begin = total
        end = starts[block + 1]
        room = count - end
        if total + room > len(borders):
            grown = np.zeros(2 * len(borders) + room, dtype=np.int64)
            grown[:total] = borders[:total]
            borders = grown
        for own in range(starts[block], end):
            for entry in range(pointers[order[own]], pointers[order[own] + 1]):
                other = place[neighbours[entry]]
                if other >= end and seen[other] != block:
                    seen[other] = block
                    borders[total] = other
                    total += 1
        child = first_child[block]
        while child >= 0:
            for entry in range(border_starts[child], border_starts[child + 1]):
                other = borders[entry]
                if other >= end and seen[other] != block:
                    seen[other] = block
                    borders[total] = other
                    total += 1
            child = next_child[child]
        borders[begin:total] = np.sort(borders[begin:total])
        border_starts[block + 1] = total
        parent = parents[block]
        if parent >= 0:
            next_child[block] = first_child[parent]
            first_child[parent] = block
    return border_starts, borders[:total].copy()
