"""The list of near pairs leaves out only pairs that stay apart, whatever the weights."""

import itertools

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.proof.linear_mesh import linear_mesh
from dressform.proof.pairs import near_pairs
from proof.spheres import ball, seeded_case


@pytest.mark.parametrize("seed", range(6))
def test_pairs_left_out_keep_the_margin_along_an_axis_at_every_corner(seed: int) -> None:
    cloth, body, box = seeded_case(seed, clearance=0.004)
    margin = 0.002
    listed = np.zeros((len(cloth.faces), len(body.faces)), dtype=bool)
    pairs = near_pairs(cloth, body, box, margin=margin)
    listed[pairs[:, 0], pairs[:, 1]] = True
    least = np.full(listed.shape, np.inf)
    for corner in itertools.product(*zip(box.low, box.high)):
        a, b = cloth.at(np.array(corner))[cloth.faces], body.at(np.array(corner))[body.faces]
        above = a.min(axis=1)[:, None] - b.max(axis=1)[None]
        under = b.min(axis=1)[None] - a.max(axis=1)[:, None]
        least = np.minimum(least, np.maximum(above, under).max(axis=2))
    assert (least[~listed] >= margin - 1e-12).all()
    assert listed.any()
    assert not listed.all()


def test_without_morphs_the_pairs_are_those_whose_boxes_are_near() -> None:
    vertices, faces = ball(2)
    none = np.zeros((0, len(vertices), 3))
    cloth, body = linear_mesh(1.05 * vertices, none, faces), linear_mesh(vertices, none, faces)
    pairs = near_pairs(cloth, body, Range.unit(()), margin=0.01)
    a, b = cloth.terms[:, 0][faces], body.terms[:, 0][faces]
    above = a.min(axis=1)[:, None] - b.max(axis=1)[None]
    under = b.min(axis=1)[None] - a.max(axis=1)[:, None]
    expected = np.argwhere(np.maximum(above, under).max(axis=2) < 0.01)
    assert np.array_equal(pairs, expected)


def test_no_pair_is_lost_where_more_lie_near_than_the_list_first_has_room_for() -> None:
    vertices, faces = ball(1)
    mesh = linear_mesh(vertices, np.zeros((0, len(vertices), 3)), faces)
    pairs = near_pairs(mesh, mesh, Range.unit(()), margin=10.0 * float(np.ptp(vertices)))
    assert np.array_equal(pairs, list(itertools.product(range(len(faces)), repeat=2)))
    assert len(pairs) > 4096
