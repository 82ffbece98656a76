"""Cloth in the skin on one side is told from cloth in the skin on both sides and far around."""

import numpy as np
import pytest

import phantoms
from dressform.body.body import Body
from dressform.garment.garment import Garment
from dressform.infer.sunk import find_sunk
from dressform.mesh.geometry import vertex_normals


def cloth(body: Body, sunk: np.ndarray) -> Garment:
    """The skin 10 mm out, and 3 mm in where it is sunk."""
    off = np.where(sunk, -0.003, 0.010)[:, None]
    return Garment.of("cloth", body.vertices + off * vertex_normals(body.vertices, body.faces), body.faces)


@pytest.fixture(scope="module")
def body() -> Body:
    return phantoms.phantom_body()


def test_cloth_off_the_skin_is_not_sunk(body: Body) -> None:
    found = find_sunk(body, cloth(body, np.zeros(len(body.vertices), dtype=bool)))
    assert (found.alike, found.width, found.is_spread) == (0.0, 0.0, False)


def test_a_patch_on_one_side_has_no_mirror_image(body: Body) -> None:
    x, y = body.vertices[:, 0], body.vertices[:, 1]
    found = find_sunk(body, cloth(body, (x > 0.05) & (np.abs(y - 1.0) < 0.2)))
    assert found.alike == 0.0
    assert not found.is_spread


def test_a_ring_is_spread_and_as_wide_as_the_body_there(body: Body) -> None:
    ring = np.abs(body.vertices[:, 1] - 1.0) < 0.05
    found = find_sunk(body, cloth(body, ring))
    assert found.alike == pytest.approx(1.0)
    points = body.vertices[ring]
    across = np.linalg.norm(points[:, None] - points[None], axis=2).max()
    assert found.width == pytest.approx(across - 0.006, abs=0.003)
    assert found.is_spread == (found.width >= 0.25)


def test_where_the_body_stands_does_not_matter(body: Body) -> None:
    ring = np.abs(body.vertices[:, 1] - 1.0) < 0.05
    garment = cloth(body, ring)
    away = np.array([0.7, 0.0, -0.2])
    moved = Body(body.name, body.vertices + away, body.faces, body.morph_names, body.deltas, body.range)
    there = find_sunk(moved, Garment.of("cloth", garment.vertices + away, garment.faces))
    here = find_sunk(body, garment)
    assert (there.alike, there.width) == pytest.approx((here.alike, here.width), abs=1e-9)


def test_two_points_are_as_wide_as_they_lie_apart(body: Body) -> None:
    pair = np.zeros(len(body.vertices), dtype=bool)
    pair[[int(np.argmax(body.vertices[:, 0])), int(np.argmin(body.vertices[:, 0]))]] = True
    garment = cloth(body, pair)
    found = find_sunk(body, garment)
    ends = garment.vertices[pair]
    assert found.width == pytest.approx(float(np.linalg.norm(ends[0] - ends[1])))
