import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.faults.layers import find_orders, swapped
from fault_meshes import sheet

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
    assert set(swapped(order, moved)) == set(pushed)


def test_layers_that_move_together_keep_their_order():
    vertices, faces, parts, _ = two_layers()
    (order,) = find_orders(vertices, faces, parts, up(vertices))
    moved = vertices + np.stack([0 * vertices[:, 0], 0.3 * vertices[:, 0] ** 2, 0 * vertices[:, 0]], axis=1)
    assert len(swapped(order, moved)) == 0
    assert len(swapped(order, vertices * np.array([1.0, -1.0, -1.0]))) == 0  # a half turn: sides go along


def test_turned_over_triangles_of_the_lower_layer_do_not_matter():
    vertices, faces, parts, split = two_layers()
    faces = np.where((parts == 0)[:, None], faces[:, ::-1], faces)
    (order,) = find_orders(vertices, faces, parts, up(vertices))
    moved = vertices.copy()
    assert len(swapped(order, moved)) == 0
    moved[split:, 1] -= 2 * GAP
    assert len(swapped(order, moved)) == len(vertices) - split


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
    assert len(swapped(order, over, [under[0]])) == 0
    assert len(swapped(order, over, [under[0] + np.array([0.0, 2 * GAP, 0.0])])) == len(over)
    with pytest.raises(ArgumentError, match="1 garments or more"):
        swapped(order, over)
