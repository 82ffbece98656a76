"""Tangents turn with a surface as dP/du does."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from dressform.formats.gltf.morphs.tangents import carried_tangents
from dressform.formats.gltf.normals import unit_rows
from dressform.mesh.geometry import vertex_normals

SIDE = 12


def sheet() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A flat grid in x and z: places in [0, 1]², vertices, upward triangles."""
    u, v = (axis.ravel() for axis in np.meshgrid(*[np.linspace(0, 1, SIDE)] * 2, indexing="ij"))
    at = np.arange(SIDE * SIDE).reshape(SIDE, SIDE)
    a, b, c, d = at[:-1, :-1].ravel(), at[1:, :-1].ravel(), at[1:, 1:].ravel(), at[:-1, 1:].ravel()
    faces = np.concatenate([np.stack([a, c, b], 1), np.stack([a, d, c], 1)])
    return np.stack([u, v], axis=1), np.stack([u, 0 * u, v], axis=1), faces


@pytest.mark.parametrize("seed", range(5))
def test_an_affine_map_carries_a_tangent_as_it_carries_the_edge_along_it(seed: int) -> None:
    rng = np.random.default_rng(seed)
    _, before, faces = sheet()
    before = before @ Rotation.random(random_state=seed).as_matrix().T
    matrix = Rotation.random(random_state=seed + 9).as_matrix() @ np.diag(rng.uniform(0.3, 3, 3))
    after = before @ matrix.T + rng.normal(size=3)
    along = unit_rows(before[1 * SIDE] - before[0] + 0.3 * (before[1] - before[0]))
    tangents, normals = np.tile(along, (len(before), 1)), vertex_normals(after, faces)
    found = carried_tangents(tangents, before, after, faces, normals)
    np.testing.assert_allclose(found, np.tile(unit_rows(matrix @ along), (len(before), 1)), atol=1e-9)


def test_a_twisted_sheet_turns_its_tangents_by_the_derivative_of_its_map() -> None:
    """The turn of the normal alone would leave a swirl within the sheet untold."""
    places, before, faces = sheet()
    angle = 0.8 * places[:, 1]
    after = np.stack(
        [places[:, 0] * np.cos(angle), places[:, 0] * np.sin(angle), places[:, 1]], axis=1
    )  # a helicoid: dP/du = (cos, sin, 0)
    tangents = np.tile([1.0, 0.0, 0.0], (len(before), 1))
    found = carried_tangents(tangents, before, after, faces, vertex_normals(after, faces))
    expected = np.stack([np.cos(angle), np.sin(angle), 0 * angle], axis=1)
    inner = (places > 0.01).all(axis=1) & (places < 0.99).all(axis=1)
    assert np.degrees(np.arccos(np.clip(np.einsum("ni,ni->n", found, expected), -1, 1)))[inner].max() < 0.3


def test_triangles_without_area_leave_a_tangent_as_it_was() -> None:
    line = np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]])
    tangents = np.tile([0.0, 0.0, 1.0], (3, 1))
    found = carried_tangents(tangents, line, line, np.array([[0, 1, 2]]), np.tile([0.0, 1.0, 0.0], (3, 1)))
    np.testing.assert_allclose(found, tangents)
