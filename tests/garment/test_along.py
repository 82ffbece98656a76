"""Distance along the cloth against straight lines and unrolled cylinders."""

import numpy as np
import pytest

from dressform.garment.along import distance_along
from lift_phantoms import Mesh, joined, tube


def _sheet(count: int) -> Mesh:
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(count), np.arange(count), indexing="ij"))
    index = np.arange(count * count).reshape(count, count)
    a, b, c, d = index[:-1, :-1].ravel(), index[:-1, 1:].ravel(), index[1:, :-1].ravel(), index[1:, 1:].ravel()
    faces = np.concatenate([np.stack([a, c, b], axis=1), np.stack([c, d, b], axis=1)])
    return 0.01 * np.stack([x, y, 0 * x], axis=1).astype(float), faces


def test_distance_on_a_flat_sheet_is_nearly_straight() -> None:
    vertices, faces = _sheet(31)
    seeds = np.arange(len(vertices)) == 15 * 31 + 15
    straight = np.linalg.norm(vertices - vertices[seeds], axis=1)
    ratio = distance_along(vertices, faces, seeds)[~seeds] / straight[~seeds]
    assert ratio.min() > 1 - 1e-12
    assert ratio.max() < 1.09


def test_distance_on_a_cylinder_is_that_of_the_unrolled_one() -> None:
    vertices, faces = tube(0.1, 0.5, 0.01, jitter=0.3)
    seed = np.argmin(np.linalg.norm(vertices - [0.0, 0.0, 0.1], axis=1))
    seeds = np.arange(len(vertices)) == seed
    turned = np.arctan2(vertices[:, 0], vertices[:, 2]) - np.arctan2(vertices[seed, 0], vertices[seed, 2])
    around = 0.1 * np.abs((turned + np.pi) % (2 * np.pi) - np.pi)
    unrolled = np.hypot(around, vertices[:, 1] - vertices[seed, 1])
    far = unrolled > 0.05
    ratio = distance_along(vertices, faces, seeds)[far] / unrolled[far]
    assert ratio.min() > 0.98  # chords are shorter than arcs
    assert ratio.max() < 1.08


def test_a_path_crosses_a_seam_and_no_gap() -> None:
    vertices, faces = _sheet(11)
    touching = joined((vertices, faces), (vertices + np.array([0.1, 0.0, 0.0]), faces))
    apart = joined((vertices, faces), (vertices + np.array([0.11, 0.0, 0.0]), faces))
    seeds = np.arange(2 * len(vertices)) == 0
    far = 2 * len(vertices) - 11  # the corner straight ahead of the seed, on the other piece
    assert distance_along(*touching, seeds)[far] == pytest.approx(0.2, abs=1e-7)
    assert distance_along(*apart, seeds)[far] == np.inf


def test_beyond_the_limit_the_distance_is_infinite() -> None:
    vertices, faces = _sheet(11)
    seeds = np.arange(len(vertices)) == 0
    distance = distance_along(vertices, faces, seeds, within=0.05)
    assert distance[np.isfinite(distance)].max() <= 0.05
    assert np.isinf(distance[-1])


def test_without_seeds_everything_is_far() -> None:
    vertices, faces = _sheet(4)
    assert np.isinf(distance_along(vertices, faces, np.zeros(16, dtype=bool))).all()
