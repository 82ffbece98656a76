"""Turns of triangles and of maps, against singular values."""

import numpy as np
import pytest

from dressform.lift.turns import nearest_turns, turns_between


def by_singular_values(maps: np.ndarray) -> np.ndarray:
    left, _, right = np.linalg.svd(maps)
    left[:, :, 2] *= np.linalg.det(left @ right)[:, None]
    return np.asarray(left @ right)


def triangles(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Triangles of a few millimetres to metres, before and after, with corners of their own."""
    rng = np.random.default_rng(seed)
    made, moved = rng.normal(size=(2, 600, 3)) * 10.0 ** rng.uniform(-3, 0, (600, 1))
    return made, moved, np.arange(600).reshape(-1, 3)


@pytest.mark.parametrize("seed", range(3))
def test_a_triangle_turns_as_the_map_of_its_sides_and_normal_does(seed: int) -> None:
    made, moved, corners = triangles(seed)
    frames = []
    for points in (made, moved):
        sides = points[corners[:, 1:]] - points[corners[:, :1]]
        across = np.cross(sides[:, 0], sides[:, 1])
        normal = across / np.linalg.norm(across, axis=1, keepdims=True)
        frames.append(np.stack([sides[:, 0], sides[:, 1], normal], axis=2))
    wanted = by_singular_values(frames[1] @ np.linalg.inv(frames[0]))
    assert np.abs(turns_between(made, moved, corners) - wanted).max() < 1e-9


def test_turned_and_scaled_triangles_give_the_turn_back() -> None:
    made, _, corners = triangles(7)
    turn = by_singular_values(np.random.default_rng(1).normal(size=(1, 3, 3)))[0]
    assert np.abs(turns_between(made, 1.7 * made @ turn.T + 0.3, corners) - turn).max() < 1e-12


def test_a_triangle_without_area_keeps_a_turn_that_is_one() -> None:
    made = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0]])
    turns = turns_between(made, made, np.array([[0, 1, 2]]))
    assert np.abs(turns @ turns.transpose(0, 2, 1) - np.eye(3)).max() < 1e-12
    assert np.linalg.det(turns) == pytest.approx(1.0)


def test_the_nearest_turn_is_that_of_singular_values_mirrored_and_flat_maps_too() -> None:
    rng = np.random.default_rng(2)
    maps = rng.normal(size=(2000, 3, 3))
    maps[:50, :, 2] = 1e-9 * maps[:50, :, 2]  # nearly singular
    assert (np.linalg.det(maps) < 0).sum() > 500
    wanted = by_singular_values(maps)
    gap = np.linalg.svd(maps, compute_uv=False)
    firm = gap[:, 1] + np.sign(np.linalg.det(maps)) * gap[:, 2] > 1e-3 * gap[:, 0]  # otherwise the answer is open
    assert firm.sum() > 1900
    assert np.abs(nearest_turns(maps) - wanted)[firm].max() < 1e-11
