"""Edges are drawn where they are seen, of the mesh that is asked for, as thin as they say."""

import numpy as np

from dressform.arrays import Faces, Points
from dressform.report.pictures.camera import Camera
from dressform.report.pictures.edge_lines import with_edges
from dressform.report.pictures.raster import Drawable, draw

SIZE = (200, 200)
CAMERA = Camera(np.array([0.0, 0.0, 5.0]), np.zeros(3), 2.0, perspective=False)


def sheet(depth: float, *, half: float = 0.8) -> tuple[Points, Faces]:
    """A square of two triangles; their common edge runs from its lower left to its upper right."""
    corners = np.array([[-half, -half, depth], [half, -half, depth], [half, half, depth], [-half, half, depth]])
    return corners, np.array([[0, 1, 2], [0, 2, 3]])


def darker(meshes: list[Drawable], *, of: int) -> np.ndarray:
    plain = draw(meshes, CAMERA, SIZE, ground_shadow=False)
    return plain.astype(int).sum(axis=2) - with_edges(plain, meshes, CAMERA, of=of).astype(int).sum(axis=2) > 20


def test_the_edges_of_two_triangles_are_a_square_and_its_diagonal() -> None:
    lines = darker([Drawable(*sheet(0.0))], of=0)
    rows, columns = np.nonzero(lines)
    x, y = (columns + 0.5) / 100.0 - 1.0, 1.0 - (rows + 0.5) / 100.0
    off = np.minimum(np.abs(x - y) / np.sqrt(2.0), np.minimum(np.abs(np.abs(x) - 0.8), np.abs(np.abs(y) - 0.8)))
    assert off.max() < 0.015  # a pixel is 0.01
    for share in np.linspace(-0.7, 0.7, 15):
        assert lines[round(100 - 100 * share) - 1 : round(100 - 100 * share) + 2, round(100 + 100 * share)].any()


def test_hidden_edges_are_not_drawn() -> None:
    behind, before = Drawable(*sheet(0.0)), Drawable(*sheet(0.5, half=0.4))
    lines = darker([behind, before], of=0)
    assert not lines[70:130, 70:130].any()
    assert lines[30:32, 30:170].any() or lines[18:22, 30:170].any()


def test_only_the_mesh_that_is_asked_for_shows_edges() -> None:
    behind, before = Drawable(*sheet(0.0)), Drawable(*sheet(0.5, half=0.4))
    lines = darker([behind, before], of=1)
    assert lines[70:130, 70:130].any()
    assert not lines[:50].any()
    assert not lines[:, 150:].any()


def test_lines_are_pale_on_dark_cloth() -> None:
    meshes = [Drawable(*sheet(0.0), colours=(0.1, 0.1, 0.2))]
    plain = draw(meshes, CAMERA, SIZE, ground_shadow=False).astype(int)
    lined = with_edges(plain.astype(np.uint8), meshes, CAMERA, of=0).astype(int)
    assert (lined - plain).sum(axis=2)[40:160, 40:160].max() > 60
    assert (lined - plain).sum(axis=2)[40:160, 40:160].min() >= 0
