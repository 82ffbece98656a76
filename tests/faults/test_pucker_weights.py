"""The index of one window against a least-squares fit of its own, with the weights as they are documented."""

import numpy as np
import pytest

from dressform.faults.pucker import WINDOW_RADIUS, pucker_index, pucker_windows
from dressform.mesh.geometry import vertex_normals
from fault_meshes import sheet


def graded_sheet() -> tuple[np.ndarray, np.ndarray]:
    """Uneven ground on a grid whose cells grow from 6 to 15 mm, all coarser than what is thinned."""
    vertices, faces = sheet(1.0, count=24)
    across = vertices[:, [0, 2]] + 0.5
    vertices[:, [0, 2]] = 0.006 * 24 * across + 0.1 * across**2
    rng = np.random.default_rng(2)
    vertices[:, 1] = 0.002 * rng.normal(size=len(vertices))
    return vertices, faces


def areas_of(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """A third of every triangle at each of its corners, m²."""
    a, b, c = np.moveaxis(vertices[faces], 1, 0)
    areas = np.zeros(len(vertices))
    for corner in range(3):
        np.add.at(areas, faces[:, corner], 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1) / 3)
    return areas


def index_by_least_squares(vertices, faces, moved, centre: int, radius: float) -> float:
    """RMS residual over r · √(tangential stretches), weights a (1 − ρ²)², from numpy's own solver."""
    normal = vertex_normals(vertices, faces)[centre]
    u = np.cross(normal, [0.3, 0.5, 0.8])
    u /= np.linalg.norm(u)
    offset = (vertices - vertices[centre]) / radius
    rho = np.linalg.norm(offset, axis=1)
    member = rho < 1
    weights = (areas_of(vertices, faces) * (1 - rho**2) ** 2)[member]
    x, y, n = (offset[member] @ np.stack([u, np.cross(normal, u), normal], axis=1)).T
    terms = np.stack([np.ones_like(x), x, y, n, x * x, x * y, y * y], axis=1)
    roots = np.sqrt(weights)[:, None]
    fit = np.linalg.lstsq(roots * terms, roots * moved[member], rcond=None)[0]
    residual = moved[member] - terms @ fit
    mean_square = (weights * (residual**2).sum(axis=1)).sum() / weights.sum()
    scale = np.sqrt(np.linalg.norm(np.cross(fit[1], fit[2])))
    return float(np.sqrt(mean_square) / scale)


@pytest.mark.parametrize("seed", range(3))
def test_the_index_is_the_residual_of_a_fit_weighted_by_area_and_the_square_of_one_less_rho_squared(seed) -> None:
    vertices, faces = graded_sheet()
    moved = 1.3 * vertices + 0.002 * np.random.default_rng(seed).normal(size=vertices.shape)
    windows = pucker_windows(vertices, faces)
    index = pucker_index(windows, moved)
    assert len(windows.stations) == len(vertices)
    asked = np.flatnonzero(windows.radii == WINDOW_RADIUS)
    inner = asked[(np.abs(vertices[asked][:, [0, 2]] - 0.12) < 0.05).all(axis=1)][::7]
    assert len(inner) > 5
    for centre in inner:
        expected = index_by_least_squares(vertices, faces, moved, int(centre), WINDOW_RADIUS)
        assert index[centre] == pytest.approx(expected, rel=1e-9)
