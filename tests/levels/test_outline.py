"""The distance of two outlines is what closed forms say, to within a pixel."""

import numpy as np
import pytest

from dressform.levels.outline import DIRECTIONS, farthest_apart, outlines
from phantoms import RADIUS, tube

FRONT = next(one for one in DIRECTIONS if one.words == "from the front")
ABOVE = next(one for one in DIRECTIONS if one.words == "from above")


def panel(width: float, height: float, *, at: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """A flat rectangle that faces the front, its middle at `at` from the axis."""
    x, y = width / 2, height / 2
    corners = np.array([[-x, -y, 0.0], [x, -y, 0.0], [x, y, 0.0], [-x, y, 0.0]])
    return corners + np.array([at, 0.0, 0.0]), np.array([[0, 1, 2], [0, 2, 3]])


def ring(outer: float, inner: float) -> tuple[np.ndarray, np.ndarray]:
    """A level ring of 64 sides."""
    angles = 2 * np.pi * np.arange(64) / 64
    circle = np.stack([np.sin(angles), np.zeros(64), np.cos(angles)], axis=1)
    at, after = np.arange(64), (np.arange(64) + 1) % 64
    faces = np.concatenate([np.stack([at, after, 64 + at], 1), np.stack([after, 64 + after, 64 + at], 1)])
    return np.concatenate([outer * circle, inner * circle]), faces


@pytest.mark.parametrize(("wider", "off"), [(0.02, 0.0), (0.0, 0.03), (0.05, 0.01)])
def test_rectangles_are_apart_by_what_stands_over_on_the_wider_side(wider: float, off: float) -> None:
    seen = outlines(panel(0.4, 0.6), panel(0.4 + wider, 0.6, at=off), FRONT)
    assert seen.apart == pytest.approx(wider / 2 + off, abs=seen.pixel)


def test_the_order_of_two_meshes_does_not_matter_and_a_mesh_is_not_apart_from_itself() -> None:
    one, other = tube(clearance=0.02, sides=9), tube(clearance=0.03, bottom=0.55, sides=23)
    for direction in DIRECTIONS:
        assert outlines(one, other, direction).apart == outlines(other, one, direction).apart
        assert outlines(one, one, direction).apart == 0.0


def test_a_tube_of_few_sides_is_as_far_from_a_round_one_as_its_sides_lie_within_the_circle() -> None:
    seen = farthest_apart(tube(clearance=0.02, sides=240), tube(clearance=0.02, sides=12))
    assert seen.direction is ABOVE
    assert seen.apart == pytest.approx((RADIUS + 0.02) * (1 - np.cos(np.pi / 12)), abs=2 * seen.pixel)


def test_a_hole_that_only_one_has_counts_with_its_radius() -> None:
    seen = outlines(ring(0.2, 0.0), ring(0.2, 0.05), ABOVE)
    assert seen.apart == pytest.approx(0.05, abs=2 * seen.pixel)
    assert not seen.first[~seen.second].all()


def test_cloth_seen_edge_on_is_a_line() -> None:
    sheet, other = panel(0.4, 0.6), panel(0.4, 0.6)
    moved = other[0] + np.array([0.0, 0.0, 0.04])
    seen = outlines(sheet, (moved, other[1]), next(one for one in DIRECTIONS if one.words == "from the side"))
    assert seen.apart == pytest.approx(0.04, abs=seen.pixel)
