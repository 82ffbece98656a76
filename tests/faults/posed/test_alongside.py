"""Neighbours along the skin: what is near through the air and far along the body is no neighbour."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.posed.alongside import ALONG, Alongside
from limbs import limb
from meshes import sphere


def test_vertices_of_a_cylinder_are_neighbours_by_the_length_along_it() -> None:
    body = limb(along=51, around=32)
    ring = 25 * 32
    around = np.array([ring + 4, ring + 16, ring + 8 * 32, ring + 12 * 32])  # 35 and 141 mm round, 80 and 120 mm along
    told = Alongside(body).near(np.full(4, ring), around)
    assert list(told) == [True, False, True, False]


def test_shells_that_touch_are_no_neighbours() -> None:
    vertices, faces = sphere(2, radius=0.02)
    both = np.concatenate([vertices, vertices + np.array([0.041, 0.0, 0.0])])
    body = Body(
        "two", both, np.concatenate([faces, faces + len(vertices)]), (), np.zeros((0, len(both), 3)), Range.unit(())
    )
    first = int(np.argmax(vertices[:, 0]))
    second = len(vertices) + int(np.argmin(vertices[:, 0]))
    assert np.linalg.norm(both[first] - both[second]) < 0.1 * ALONG
    ways = Alongside(body)
    assert not ways.near(np.array([first]), np.array([second]))[0]
    assert ways.near(np.array([second]), np.array([second]))[0]
