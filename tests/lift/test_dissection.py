"""The order of elimination is an order, and its blocks keep apart what they should."""

import numpy as np
import pytest
from scipy.sparse import csr_array

from dressform.lift.dissection import Dissection, dissect
from dressform.mesh.laplacian import cotangent
from lift_phantoms import joined, sphere, tube


def _ancestors(cuts: Dissection, block: int) -> set[int]:
    found = set()
    while cuts.parents[block] >= 0:
        block = int(cuts.parents[block])
        found.add(block)
    return found


@pytest.mark.parametrize("leaf", [1, 5, 24])
def test_blocks_touch_only_themselves_and_their_ancestors(leaf: int) -> None:
    vertices, faces = joined(tube(0.1, 0.4, 0.02, jitter=0.3), sphere(0.05, rows=8, columns=12))
    graph = cotangent(vertices, faces)
    cuts = dissect(graph, vertices, leaf=leaf)
    assert np.array_equal(np.sort(cuts.order), np.arange(len(vertices)))
    place = np.zeros(len(vertices), dtype=np.int64)
    place[cuts.order] = np.arange(len(vertices))
    block_of = np.searchsorted(cuts.starts, np.arange(len(vertices)), side="right") - 1
    entries = graph.tocoo()
    for row, column in zip(block_of[place[entries.row]], block_of[place[entries.col]]):
        low, high = min(row, column), max(row, column)
        assert low == high or high in _ancestors(cuts, int(low))


def test_borders_are_what_elimination_fills() -> None:
    vertices, faces = tube(0.1, 0.2, 0.03, jitter=0.3)
    graph = cotangent(vertices, faces)
    cuts = dissect(graph, vertices, leaf=6)
    pattern = graph.toarray()[np.ix_(cuts.order, cuts.order)] != 0
    for place in range(len(pattern)):  # symbolic elimination, one vertex after the other
        later = np.flatnonzero(pattern[place, place + 1 :]) + place + 1
        pattern[np.ix_(later, later)] = True
    for block in range(len(cuts.parents)):
        low, high = cuts.starts[block : block + 2]
        filled = np.flatnonzero(pattern[low:high].any(axis=0))
        border = cuts.borders[cuts.border_starts[block] : cuts.border_starts[block + 1]]
        assert np.array_equal(border, filled[filled >= high])


def test_vertices_without_edges_and_coincident_vertices_are_ordered_too() -> None:
    cuts = dissect(csr_array((70, 70)), np.zeros((70, 3)), leaf=4)
    assert np.array_equal(np.sort(cuts.order), np.arange(70))
    assert len(cuts.borders) == 0
