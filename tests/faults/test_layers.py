import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.faults.layers import find_orders, swapped
from dressform.mesh.geometry import vertex_areas
from fault_meshes import icosphere, quarter, sheet

GAP = 0.005


def two_layers(*, count=20):
    """A patch over a larger sheet: vertices, faces, parts."""
    under, faces = sheet(0.4, count=count)
    over, over_faces = sheet(0.2, count=count // 2, height=GAP)
    vertices = np.concatenate([under, over])
    parts = np.repeat([0, 1], [len(faces), len(over_faces)])
    return vertices, np.concatenate([faces, over_faces + len(under)]), parts, len(under)


def up(vertices):
    return np.tile([0.0, 1.0, 0.0], (len(vertices), 1))


def test_the_upper_part_lies_over_the_lower_and_not_the_other_way():
    vertices, faces, parts, split = two_layers()
    (order,) = find_orders(vertices, faces, parts, up(vertices))
    assert set(order.outer) == set(range(split, len(vertices)))
    assert set(np.unique(order.inner.faces)) <= set(range(split))


def test_a_layer_pushed_under_another_is_swapped():
    vertices, faces, parts, split = two_layers()
    (order,) = find_orders(vertices, faces, parts, up(vertices))
    moved = vertices.copy()
    pushed = split + np.flatnonzero(vertices[split:, 0] > 0.01)
    moved[pushed, 1] -= 2 * GAP
    assert set(swapped(order, moved).outer) == set(pushed)


def test_layers_that_move_together_keep_their_order():
    vertices, faces, parts, _ = two_layers()
    (order,) = find_orders(vertices, faces, parts, up(vertices))
    moved = vertices + np.stack([0 * vertices[:, 0], 0.3 * vertices[:, 0] ** 2, 0 * vertices[:, 0]], axis=1)
    assert len(swapped(order, moved).outer) == 0
    assert len(swapped(order, vertices * np.array([1.0, -1.0, -1.0])).outer) == 0  # a half turn: sides go along


def test_turned_over_triangles_of_the_lower_layer_do_not_matter():
    vertices, faces, parts, split = two_layers()
    faces = np.where((parts == 0)[:, None], faces[:, ::-1], faces)
    (order,) = find_orders(vertices, faces, parts, up(vertices))
    moved = vertices.copy()
    assert len(swapped(order, moved).outer) == 0
    moved[split:, 1] -= 2 * GAP
    assert len(swapped(order, moved).outer) == len(vertices) - split


def test_layers_that_are_joined_have_no_order():
    under, faces = sheet(0.4, count=10)
    vertices = np.concatenate([under, under + np.array([0.0, 1e-5, 0.0])])
    parts = np.repeat([0, 1], len(faces))
    assert find_orders(vertices, np.concatenate([faces, faces + len(under)]), parts, up(vertices)) == ()


def test_one_part_has_no_order():
    vertices, faces = sheet(0.4, count=4)
    assert find_orders(vertices, faces, np.zeros(len(faces), dtype=np.int64), up(vertices)) == ()


def test_a_garment_worn_under_another_is_a_layer_too():
    under = sheet(0.4, count=10)
    over, faces = sheet(0.2, count=5, height=GAP)
    parts = np.zeros(len(faces), dtype=np.int64)
    (order,) = find_orders(over, faces, parts, up(over), under=[under])
    assert len(swapped(order, over, [under[0]]).outer) == 0
    assert len(swapped(order, over, [under[0] + np.array([0.0, 2 * GAP, 0.0])]).outer) == len(over)
    with pytest.raises(ArgumentError, match="1 garments or more"):
        swapped(order, over)


BUTTON, CELL = 0.01, 0.005


def on_a_sheet(*, fine: bool = False):
    """A ball of a button that touches down on a sheet: vertices, faces, parts, the button's first vertex."""
    under, faces = sheet(0.2, count=40)
    ball, ball_faces = icosphere(BUTTON, level=3, middle=(0.0, BUTTON + 0.001, 0.0))
    if fine:
        ball, ball_faces = quarter(ball, ball_faces)
    parts = np.repeat([0, 1], [len(faces), len(ball_faces)])
    return np.concatenate([under, ball]), np.concatenate([faces, ball_faces + len(under)]), parts, len(under)


def seen_to_sink(depth: float, *, fine: bool = False) -> tuple[float, np.ndarray, np.ndarray]:
    """Area that was seen from above and is under the sheet with the button so deep, m²; where; what is seen there."""
    vertices, faces, parts, first = on_a_sheet(fine=fine)
    orders = find_orders(vertices, faces, parts, up(vertices))
    (order,) = [one for one in orders if one.outer.min() >= first]
    moved = vertices.copy()
    moved[first:, 1] -= depth + 0.001
    found = swapped(order, moved)
    areas = vertex_areas(vertices, faces)
    return float((areas[found.outer] * found.shown).sum()), found.outer, moved[found.covering]


def test_a_button_that_sinks_on_its_back_only_has_lost_nothing_that_was_seen():
    """Counted by vertices, a waistcoat on which every button is seen was "moderate, 60 vertices"."""
    area, outer, covering = seen_to_sink(0.9 * BUTTON)
    assert len(outer) > 100
    assert len(covering) == 0
    assert area == 0.0


@pytest.mark.parametrize("fine", [False, True])
def test_what_is_lost_of_a_button_is_the_ring_that_is_under(fine):
    depth = 1.5 * BUTTON
    area, _, covering = seen_to_sink(depth, fine=fine)
    left = BUTTON**2 - (depth - BUTTON) ** 2  # of the disc that is seen, what still stands out
    assert area == pytest.approx(np.pi * (BUTTON**2 - left), rel=0.15)
    assert len(covering) > 10
    assert np.linalg.norm(covering[:, [0, 2]], axis=1).max() < BUTTON + 2 * CELL


def test_a_layer_that_is_modelled_inside_out_is_seen_as_well():
    vertices, faces, parts, split = two_layers()
    for way in (1, -1):
        turned = np.where((parts == 1)[:, None], faces[:, ::way], faces)
        (order,) = find_orders(vertices, turned, parts, up(vertices))
        assert order.shown == pytest.approx(np.ones(len(vertices) - split))
