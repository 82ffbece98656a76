"""Own skin is what paths along the skin reach from the foot, and no more."""

import numpy as np

from bent_limbs import RADIUS, limb, wall
from dressform.fit.own_skin import LEAST_REACH, OWN_REACH, own_skin, thickness
from dressform.mesh.tree import Tree
from phantoms import capsule, tube

EDGE = 0.03  # what paths along edges and the size of triangles may add, metres


def test_own_skin_is_the_neighbourhood_of_the_foot_on_a_cylinder() -> None:
    """On a wide cylinder distance along the skin is known: height and arc."""
    vertices, faces = capsule()
    cloth, cloth_faces = tube()
    own = own_skin(Tree(vertices, faces), cloth, cloth_faces)
    for vertex in range(0, len(cloth), 97):
        row = own.rows[vertex]
        near = np.zeros(len(vertices), dtype=bool)
        near[own.vertices[own.starts[row] : own.starts[row + 1]]] = True
        turn = np.arctan2(vertices[:, 0], vertices[:, 2]) - np.arctan2(cloth[vertex, 0], cloth[vertex, 2])
        arc = np.hypot(vertices[:, 0], vertices[:, 2]).max() * np.abs((turn + np.pi) % (2 * np.pi) - np.pi)
        path = np.hypot(arc, vertices[:, 1] - cloth[vertex, 1])
        middle = np.abs(vertices[:, 1] - 0.85) < 0.6
        assert near[middle & (path < OWN_REACH - EDGE)].all()
        assert not near[middle & (path > OWN_REACH + EDGE)].any()


def test_on_a_slim_part_own_skin_ends_half_way_round() -> None:
    vertices, faces = wall(0.008, 0.0, 0.1, rings=60, sides=24)
    ends = [np.array([0.0, 0.0, 0.0]), np.array([0.0, 0.1, 0.0])]
    around, last = np.arange(24), 59 * 24
    caps = [np.stack([np.full(24, 1440), (around + 1) % 24, around], 1)]
    caps += [np.stack([np.full(24, 1441), last + around, last + (around + 1) % 24], 1)]
    finger = Tree(np.vstack([vertices, ends]), np.vstack([faces, *caps]))
    cloth, cloth_faces = wall(0.010, 0.03, 0.07, rings=5, sides=24)
    own = own_skin(finger, cloth, cloth_faces)
    reach = np.pi / 2 * 0.016
    assert LEAST_REACH < reach < OWN_REACH
    row = own.rows[0]
    held = finger.vertices[own.vertices[own.starts[row] : own.starts[row + 1]]]
    assert np.abs(held[:, 1] - 0.03).max() < reach + 0.003
    assert np.abs(held[:, 1] - 0.03).max() > reach - 0.005


def test_thickness_of_a_limb_is_its_diameter() -> None:
    body = limb(sides=64)
    tree = Tree(body.vertices, body.faces)
    faces = np.flatnonzero(np.abs(body.vertices[body.faces].mean(axis=1)[:, 1]) < 0.1)
    points = body.vertices[body.faces[faces]].mean(axis=1)
    assert np.abs(thickness(tree, points, faces) - 2 * RADIUS).max() < 3e-4


def test_clearance_is_to_own_skin_where_another_part_lies_nearer() -> None:
    """Cloth 2 cm from its own limb and 1 cm from another's is 2 cm clear."""
    first = limb(rings=21)
    count = len(first.vertices)
    across = first.vertices + np.array([2 * RADIUS + 0.03, 0.0, 0.0])
    pair = Tree(
        np.vstack([first.vertices, across + np.array([1.0, 0, 0])]), np.vstack([first.faces, first.faces + count])
    )
    cloth, faces = wall(RADIUS + 0.02, -0.1, 0.1, rings=5, sides=24)
    own = own_skin(pair, cloth, faces)
    nearer = pair.refit(np.vstack([first.vertices, across]))
    signed, found = own.clearance(nearer, cloth)
    assert (found.faces < len(first.faces)).all()
    assert np.abs(signed - 0.02).max() < 1.5e-3
