"""Linearised motions are read back exactly, are linear, and know their largest turn over a range."""

from itertools import product

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.repair.whole.rigid import Motion, fit_motion, fit_turned, longest


def _points(seed: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=(30, 3)) * 0.01 + np.array([0.1, 1.2, 0.15])


def _motion(seed: int, morphs: int = 4) -> Motion:
    rng = np.random.default_rng(seed)
    return Motion(
        np.zeros(3), rng.normal(size=(morphs, 3)), rng.normal(size=(morphs, 3)), 0.1 * rng.normal(size=morphs)
    )


@pytest.mark.parametrize("seed", range(5))
def test_a_linearised_similarity_is_read_back_exactly(seed: int) -> None:
    points, truth = _points(seed), _motion(seed)
    shares = np.random.default_rng(seed).uniform(0.1, 1.0, len(points))
    found = fit_motion(points, shares, truth.moves(points), stretch=True)
    assert np.allclose(found.turns, truth.turns, atol=1e-11)
    assert np.allclose(found.stretches, truth.stretches, atol=1e-11)
    assert np.allclose(found.moves(points + 0.3), truth.moves(points + 0.3), atol=1e-10)


def test_without_stretch_a_growing_patch_is_followed_by_its_middle_alone() -> None:
    points = _points(1)
    found = fit_motion(points, np.ones(len(points)), 0.2 * points[None], stretch=False)
    assert np.allclose(found.shifts[0], 0.2 * points.mean(axis=0))
    assert np.abs(found.turns).max() < 1e-12
    assert found.stretches[0] == 0.0


def test_a_flat_patch_tilts_by_the_slope_of_what_rises() -> None:
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(-1, 1, 7), np.linspace(-1, 1, 7)))
    flat = 0.01 * np.stack([x, y, 0 * x], axis=1)
    rising = np.stack([0 * x, 0 * x, 0.3 * flat[:, 1]], axis=1)[None]
    found = fit_motion(flat, np.ones(len(flat)), rising, stretch=False)
    assert np.allclose(found.turns[0], [0.3, 0.0, 0.0], atol=1e-12)


def test_points_on_a_line_say_nothing_about_the_turn_round_it() -> None:
    line = np.linspace(-1, 1, 9)[:, None] * np.array([[0.0, 1.0, 0.0]])
    turned = np.cross(np.array([0.2, 5.0, 0.0]), line)[None]
    found = fit_motion(line, np.ones(9), turned, stretch=False)
    assert np.allclose(found.turns[0], [0.2, 0.0, 0.0], atol=1e-12)


@pytest.mark.parametrize("far", [1.0, -2.0])
def test_a_right_angle_is_found_as_it_is_and_keeps_every_length(far: float) -> None:
    points = _points(3)
    middle = points.mean(axis=0)
    turn = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    moves = ((points - middle) @ (turn - np.eye(3)).T + 0.02) / far
    found = fit_turned(points, np.ones(len(points)), moves[None], np.array([far]))
    asked = points + np.array([0.3, -0.1, 0.05])
    moved = asked + far * found.moves(asked)[0]
    assert np.allclose(moved, (asked - middle) @ turn.T + middle + 0.02, atol=1e-12)


def test_small_turns_and_growth_are_those_of_the_linearised_similarity() -> None:
    points, truth = _points(4), _motion(4)
    truth = Motion(truth.centre, truth.shifts, 0.1 * truth.turns, truth.stretches)
    found = fit_turned(points, np.ones(len(points)), truth.moves(points), np.ones(4))
    assert np.allclose(found.moves(points + 0.3), truth.moves(points + 0.3), atol=1e-10)


def test_one_point_only_shifts() -> None:
    found = fit_motion(np.ones((1, 3)), np.ones(1), np.full((2, 1, 3), 0.5), stretch=True)
    assert np.array_equal(found.shifts, np.full((2, 3), 0.5))
    assert not found.turns.any()
    assert not found.stretches.any()


def test_the_fit_is_linear_in_the_moves() -> None:
    points, rng = _points(3), np.random.default_rng(3)
    moves = rng.normal(size=(2, len(points), 3))
    shares = np.ones(len(points))
    each = fit_motion(points, shares, moves, stretch=True)
    both = fit_motion(points, shares, (2.0 * moves[:1] - 3.0 * moves[1:]), stretch=True)
    assert np.allclose(both.moves(points)[0], 2.0 * each.moves(points)[0] - 3.0 * each.moves(points)[1], atol=1e-12)


def _corners(vectors: np.ndarray, box: Range) -> float:
    corners = np.array(list(product(*zip(box.low, box.high))))
    return float(np.linalg.norm(corners @ vectors, axis=1).max())


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("kind", ["space", "plane", "line", "axes"])
def test_the_longest_sum_is_that_of_the_best_corner(seed: int, kind: str) -> None:
    rng = np.random.default_rng(seed)
    vectors = rng.normal(size=(rng.integers(1, 9), 3))
    if kind == "plane":
        vectors[:, 2] = 0.0
    if kind == "line":
        vectors[:, 1:] = 0.0
    if kind == "axes":
        vectors = np.eye(3)[rng.integers(0, 3, len(vectors))] * rng.integers(-1, 2, len(vectors))[:, None]
    low = -rng.uniform(0, 1, len(vectors))
    box = Range(tuple(f"m{k}" for k in range(len(vectors))), low, low + rng.uniform(0, 2, len(vectors)))
    assert longest(vectors, box) == pytest.approx(_corners(vectors, box), rel=1e-9, abs=1e-12)


def test_no_morphs_turn_nothing() -> None:
    assert longest(np.zeros((0, 3)), Range.unit(())) == 0.0
