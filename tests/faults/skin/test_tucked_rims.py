"""Tucked rims: which edges are tucked in, and how far along the cloth they are."""

import numpy as np
import pytest

from dressform.faults.skin.tucked_rims import TUCK, find_rims
from fault_meshes import icosphere, sheet

SIDE = 0.4


def edge_in(vertices, *, deep=TUCK / 2):
    """Clearances of a sheet whose border lies in the body to a depth along the cloth."""
    far = SIDE / 2 - np.abs(vertices[:, [0, 2]]).max(axis=1)
    return far - deep


def asked(vertices, faces, count=2000, seed=3):
    """Random points of a mesh and their triangles."""
    rng = np.random.default_rng(seed)
    chosen = rng.integers(len(faces), size=count)
    shares = rng.dirichlet(np.ones(3), size=count)
    return chosen, np.einsum("nc,ncx->nx", shares, vertices[faces[chosen]])


@pytest.mark.parametrize("count", [3, 10, 80])
def test_a_point_is_in_the_rim_where_it_is_nearer_to_the_edge_than_the_tuck(count):
    vertices, faces = sheet(SIDE, count=count, height=0.0)
    chosen, points = asked(vertices, faces)
    far = SIDE / 2 - np.abs(points[:, [0, 2]]).max(axis=1)
    clear = np.abs(far - TUCK) > 0.05 * TUCK  # along edges the way is a few per cent longer than straight
    held = find_rims(vertices, faces, edge_in(vertices)).holds(chosen, points)
    assert np.array_equal(held[clear], (far < TUCK)[clear])


def test_no_more_is_excused_than_should_be():
    vertices, faces = sheet(SIDE, count=37, height=0.0)
    chosen, points = asked(vertices, faces)
    far = SIDE / 2 - np.abs(points[:, [0, 2]]).max(axis=1)
    assert far[find_rims(vertices, faces, edge_in(vertices)).holds(chosen, points)].max() <= TUCK + 1e-12


def test_closed_cloth_has_no_rim():
    vertices, faces = icosphere(0.2, level=2)
    rims = find_rims(vertices, faces, np.full(len(vertices), -0.01))
    assert not rims.holds(*asked(vertices, faces)).any()


def test_a_sewn_seam_is_no_open_edge():
    vertices, faces = sheet(SIDE, count=20, height=0.0)
    left = vertices[faces][:, :, 0].mean(axis=1) < 0
    apart = [np.unique(faces[side], return_inverse=True) for side in (left, ~left)]
    halves = [(vertices[used], kept.reshape(-1, 3)) for used, kept in apart]
    both = np.concatenate([halves[0][0], halves[1][0]])
    sewn = np.concatenate([halves[0][1], halves[1][1] + len(halves[0][0])])
    chosen, points = asked(both, sewn)
    middle = np.abs(points[:, 0]) < SIDE / 4
    middle &= np.abs(points[:, 2]) < SIDE / 4
    assert middle.sum() > 100
    assert not find_rims(both, sewn, edge_in(both)).holds(chosen[middle], points[middle]).any()


def test_a_rim_lies_along_the_cloth_and_not_through_the_air():
    below, faces = sheet(SIDE, count=40, height=0.0)
    above, patch = sheet(SIDE / 4, count=10, height=0.002)
    both = np.concatenate([below, above])
    signed = np.concatenate(
        [edge_in(below), np.where(np.abs(above[:, [0, 2]]).max(axis=1) > SIDE / 8 - 1e-9, -1e-3, 1e-3)]
    )
    chosen, points = asked(both, np.concatenate([faces, patch + len(below)]))
    under = (chosen < len(faces)) & (np.abs(points[:, [0, 2]]).max(axis=1) < SIDE / 2 - 2 * TUCK)
    assert under.sum() > 100
    rims = find_rims(both, np.concatenate([faces, patch + len(below)]), signed)
    assert len(rims.edges) == 4 * 40 + 4 * 10
    assert not rims.holds(chosen, points)[under].any()


@pytest.mark.parametrize("count", [10, 37, 80])
@pytest.mark.parametrize(("deep", "tucked"), [(0.001, True), (0.014, True), (0.016, False), (0.05, False)])
def test_an_edge_is_tucked_where_the_cloth_is_out_of_the_body_within_the_tuck(count, deep, tucked):
    vertices, faces = sheet(SIDE, count=count, height=0.0)
    rims = find_rims(vertices, faces, edge_in(vertices, deep=deep))
    step = SIDE / count
    aside = (
        np.abs(np.linspace(-SIDE / 2, SIDE / 2, count + 1)) <= SIDE / 2 - TUCK - step
    )  # the way from a corner is longer
    least = 4 * (int(aside.sum()) - 1)
    assert least <= len(rims.edges) <= 4 * count if tucked else not rims.any


def test_an_edge_outside_the_body_is_not_tucked_whatever_lies_in_it_beside_the_edge():
    vertices, faces = sheet(SIDE, count=80, height=0.0)
    far = SIDE / 2 - np.abs(vertices[:, [0, 2]]).max(axis=1)
    rims = find_rims(vertices, faces, np.where((far > 0.003) & (far < 0.012), -0.002, 0.002))
    assert not rims.any
