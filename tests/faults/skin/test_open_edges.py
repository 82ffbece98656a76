"""Open edges: the border of a sheet and the ends of a tube are openings, what the cloth lies around is a hole."""

import numpy as np
import pytest

from dressform.faults.skin.open_edges import HOLE, find_open_edges
from fault_meshes import pipe, sheet, turned


def holed(width, *, count=40, half=2, tall=1):
    """A sheet with one rectangular hole in its middle, of 2·half × 2·tall cells."""
    vertices, faces = sheet(width, count=count)
    cell = width / count
    middle = np.abs(vertices[faces].mean(axis=1)) / cell
    return vertices, faces[~((middle[:, 0] < half) & (middle[:, 2] < tall))]


def of_hole(vertices, ends, width):
    return (np.abs(vertices[ends][:, :, [0, 2]]) < 0.49 * width).all(axis=(1, 2))


@pytest.mark.parametrize("turn", [False, True])
@pytest.mark.parametrize(("half", "tall"), [(1, 1), (2, 1), (5, 1)])
def test_a_hole_in_a_sheet_is_told_from_its_border(half, tall, turn):
    vertices, faces = holed(0.4, half=half, tall=tall)
    placed = turned(vertices, shift=(1.0, 2.0, 3.0)) if turn else vertices
    found = find_open_edges(placed, faces)
    inner = of_hole(vertices, found.ends, 0.4)
    assert inner.sum() == 4 * (half + tall)
    assert np.array_equal(found.opening, ~inner)


def test_a_slit_that_has_no_area_is_a_hole():
    vertices, faces = holed(0.4, half=4, tall=1)
    found = find_open_edges(vertices, faces)
    inner = of_hole(vertices, found.ends, 0.4)
    shut = vertices.copy()
    shut[found.ends[inner], 2] *= 1e-6
    assert not find_open_edges(shut, faces).opening[inner].any()


def test_the_opening_for_a_head_is_no_hole():
    vertices, faces = holed(0.8, count=40, half=4, tall=4)
    around = 4 * 8 * 0.02
    assert around > HOLE
    assert find_open_edges(vertices, faces).opening.all()


@pytest.mark.parametrize("radius", [0.008, 0.03, 0.2])
def test_both_ends_of_a_tube_are_openings_however_narrow(radius):
    vertices, faces = pipe(radius, 4 * radius, edge=radius / 4)
    found = find_open_edges(vertices, faces)
    assert len(found.ends) == 2 * round(2 * np.pi * 4)
    assert found.opening.all()
