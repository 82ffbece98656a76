"""Even triangles, on a sphere and on half of one with its border in the mirror plane."""

from collections.abc import Callable

import igl
import numpy as np
import pytest

from dressform.demo.body_remesh import remesh
from dressform.mesh.geometry import edge_lengths
from dressform.mesh.topology import boundary_edges, edges

RADIUS = 0.1
WANTED = 0.012


def project_to(centre: float) -> Callable[[np.ndarray], np.ndarray]:
    """Radial projection to the sphere around (centre, 0, 0)."""

    def project(points: np.ndarray) -> np.ndarray:
        offset = points - np.array([centre, 0.0, 0.0])
        return np.array([centre, 0.0, 0.0]) + RADIUS * offset / np.linalg.norm(offset, axis=1, keepdims=True)

    return project


def wanted(points: np.ndarray) -> np.ndarray:
    return np.full(len(points), WANTED)


def sphere(centre: float) -> tuple[np.ndarray, np.ndarray]:
    """Marching-cubes triangles of the part with x ≥ 0 of a sphere around (centre, 0, 0); they are very uneven."""
    ticks = np.linspace(-0.121, 0.121, 25)
    first = np.arange(0.0, centre + 0.122, 0.0101)
    grid = np.stack(np.meshgrid(first, ticks, ticks, indexing="ij"), axis=-1)
    points = np.ascontiguousarray(grid.transpose(2, 1, 0, 3).reshape(-1, 3))
    values = np.linalg.norm(points - np.array([centre, 0.0, 0.0]), axis=1) - RADIUS
    vertices, faces, _ = igl.marching_cubes(values, points, len(first), len(ticks), len(ticks), 0.0)
    return vertices, faces.astype(np.int64)


@pytest.mark.parametrize(("centre", "euler"), [(0.2, 2), (0.0, 1)], ids=["whole", "half"])
def test_remesh_keeps_topology_and_evens_the_edges(centre: float, euler: int) -> None:
    start, start_faces = sphere(centre)
    vertices, faces = remesh(start, start_faces, size=wanted, project=project_to(centre))
    assert igl.euler_characteristic(faces) == euler
    lengths = edge_lengths(vertices, edges(faces)) / WANTED
    assert np.percentile(lengths, 5) > 0.7
    assert np.percentile(lengths, 95) < 1.35
    assert np.degrees(igl.internal_angles(vertices, faces)).min() > 20.0
    np.testing.assert_allclose(np.linalg.norm(vertices - np.array([centre, 0.0, 0.0]), axis=1), RADIUS, atol=1e-9)


def test_remesh_keeps_the_border_in_the_mirror_plane() -> None:
    vertices, faces = remesh(*sphere(0.0), size=wanted, project=project_to(0.0))
    border = np.unique(boundary_edges(faces))
    assert len(border) > 20
    np.testing.assert_array_equal(vertices[border, 0], 0.0)
    inner = np.setdiff1d(np.arange(len(vertices)), border)
    assert (vertices[inner, 0] > 0.0).all()


def test_remesh_follows_a_size_that_varies() -> None:
    def finer_above(points: np.ndarray) -> np.ndarray:
        return np.where(points[:, 1] > 0.0, 0.5 * WANTED, WANTED)

    vertices, faces = remesh(*sphere(0.2), size=finer_above, project=project_to(0.2))
    pairs = edges(faces)
    lengths, height = edge_lengths(vertices, pairs), vertices[pairs].mean(axis=1)[:, 1]
    fine, coarse = np.median(lengths[height > 0.04]), np.median(lengths[height < -0.04])
    assert coarse / fine == pytest.approx(2.0, rel=0.15)
