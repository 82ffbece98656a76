"""The implicit body against closed forms: balls, their smooth union, strokes and carrying."""

import numpy as np
import pytest

from dressform.demo.body_field import Field, blended, carry, memberships, project, rough, value
from dressform.demo.body_parts import FieldPart, PartFrame, _numbers

SOFTNESS = 0.02
NO_STROKES = np.zeros((0, 17))


def ball(centre: tuple[float, float, float], radius: float, *, softness: float = SOFTNESS) -> FieldPart:
    section = np.tile([0.0, 0.0, radius, radius], (49, 1))
    caps = np.array([radius, radius])
    return FieldPart(
        "ball", "", np.array(centre, float), np.eye(3), 0.0, section, caps, 2.0, softness, 0.01, ("root",), (), 0.01
    )


def limb(length: float, radius: float) -> FieldPart:
    section = np.tile([0.0, 0.0, radius, radius], (49, 1))
    caps = np.array([radius, radius])
    return FieldPart(
        "limb", "", np.zeros(3), np.eye(3), length, section, caps, 2.0, SOFTNESS, 0.01, ("root",), (), 0.01
    )


def field(*parts: FieldPart, strokes: np.ndarray = NO_STROKES) -> Field:
    return Field(np.stack([_numbers(part) for part in parts]), np.stack([part.section for part in parts]), strokes)


def stroke(start: list[float], end: list[float], radius: float, depth: float, *, sided: bool) -> np.ndarray:
    middle = (np.array(start) + np.array(end)) / 2
    reach = float(np.linalg.norm(np.array(end) - np.array(start))) / 2 + 3.2 * radius
    return np.array([[*start, *end, radius, depth, 0.0, float(sided), 0.0, 0.0, 1.0, *middle, reach]])


def around(count: int, radius: float, seed: int = 0) -> np.ndarray:
    directions = np.random.default_rng(seed).normal(size=(count, 3))
    return radius * directions / np.linalg.norm(directions, axis=1, keepdims=True)


def test_value_of_one_ball_is_distance_to_its_surface() -> None:
    points = around(50, 0.11)
    np.testing.assert_allclose(value(field(ball((0, 0, 0), 0.1)), points), 0.01, atol=1e-12)


def test_value_inside_a_ball_is_negative_depth() -> None:
    points = around(50, 0.07)
    np.testing.assert_allclose(value(field(ball((0, 0, 0), 0.1)), points), -0.03, atol=1e-12)


def test_union_of_two_equal_balls_swells_by_softness_times_log_two() -> None:
    """Where both distances are d the sum is 2 exp(-d/k), so f = d - k log 2."""
    points = around(20, 0.12)
    twice = value(field(ball((0, 0, 0), 0.1), ball((0, 0, 0), 0.1)), points)
    np.testing.assert_allclose(twice, 0.02 - SOFTNESS * np.log(2.0), atol=1e-12)


def test_value_of_a_limb_is_distance_to_its_axis_less_its_radius() -> None:
    points = np.array([[0.1, 0.05, 0.0], [0.2, 0.0, -0.06], [-0.05, 0.0, 0.0], [0.36, 0.0, 0.0]])
    np.testing.assert_allclose(value(field(limb(0.3, 0.04)), points), [0.01, 0.02, 0.01, 0.02], atol=1e-12)


def test_rough_is_distance_to_the_nearer_ball_however_far() -> None:
    far = field(ball((0, 0, 0), 0.1), ball((3, 0, 0), 0.1))
    np.testing.assert_allclose(rough(far, np.array([[1.0, 0, 0], [2.5, 0, 0]])), [0.9, 0.4], atol=1e-12)


def test_projected_points_lie_on_the_ball_in_their_own_direction() -> None:
    start = around(100, 0.115, seed=3)
    np.testing.assert_allclose(project(field(ball((0, 0, 0), 0.1)), start), start * (0.1 / 0.115), atol=1e-7)


def test_projection_does_not_touch_its_input() -> None:
    start = around(5, 0.12)
    kept = start.copy()
    project(field(ball((0, 0, 0), 0.1)), start)
    np.testing.assert_array_equal(start, kept)


@pytest.mark.parametrize("depth", [0.004, -0.003])
def test_stroke_presses_the_surface_in_by_its_depth(depth: float) -> None:
    pressed = field(ball((0, 0, 0), 0.1), strokes=stroke([0, 0.1, 0], [0, 0.1, 0], 0.05, depth, sided=False))
    found = project(pressed, np.array([[0.0, 0.1, 0.0]]))[0, 1]
    closed_form = depth * np.exp(-(((0.1 - found) / 0.05) ** 2))
    assert found == pytest.approx(0.1 - closed_form, abs=1e-8)


def test_stroke_and_its_image_count_once_in_the_mirror_plane() -> None:
    once = field(ball((0, 0, 0), 0.1), strokes=stroke([0, 0.1, 0], [0.05, 0.1, 0], 0.03, 0.005, sided=False))
    both = field(ball((0, 0, 0), 0.1), strokes=stroke([0, 0.1, 0], [0.05, 0.1, 0], 0.03, 0.005, sided=True))
    middle, left, right = np.array([[0, 0.1, 0]]), np.array([[-0.04, 0.09, 0]]), np.array([[0.04, 0.09, 0]])
    assert value(both, middle) == value(once, middle)
    assert value(both, left) == value(both, right)
    assert value(once, left) != value(once, right)


def test_carrying_a_longer_thicker_limb_scales_its_own_coordinates() -> None:
    points = np.array([[0.1, 0.05, 0.0], [0.3, 0.0, 0.04], [0.15, -0.02, 0.03]])
    moved = carry(field(limb(0.3, 0.04)), field(limb(0.6, 0.06)), points)
    np.testing.assert_allclose(moved, points * [2.0, 1.5, 1.5], atol=1e-12)


def test_carrying_by_a_common_shift_is_that_shift() -> None:
    old = field(ball((0, 0, 0), 0.1), ball((0.12, 0, 0), 0.08))
    new = field(ball((0.01, 0.02, 0), 0.1), ball((0.13, 0.02, 0), 0.08))
    points = around(40, 0.11, seed=1)
    np.testing.assert_allclose(carry(old, new, points), points + np.array([0.01, 0.02, 0.0]), atol=1e-12)


def test_memberships_sum_to_one_and_blend_numbers_like_blended() -> None:
    pair = field(ball((0, 0, 0), 0.1), ball((0.12, 0, 0), 0.08))
    points = around(60, 0.11, seed=2)
    owned, _ = memberships(pair, points)
    np.testing.assert_allclose(owned.sum(axis=1), 1.0, atol=1e-12)
    numbers = np.array([2.0, 5.0])
    np.testing.assert_allclose(blended(pair, points, numbers), owned @ numbers, atol=1e-12)


def test_frame_scales_centimetres_and_turns() -> None:
    turned = PartFrame(np.array([1.0, 0, 0]), np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]]), 2.0)
    np.testing.assert_allclose(turned.point([10, 0, 0]), [1.0, 0.2, 0.0])
    np.testing.assert_allclose(turned.direction([3, 0, 0]), [0.0, 1.0, 0.0])
