"""Sections at many levels: closed forms of their girths, and loops that stay apart."""

import numpy as np
import pytest

from dressform.body.measure_slices import cut
from dressform.errors import ArgumentError
from phantom import ellipse_girth

UP = np.array([0.0, 1, 0])


def tube(a: float, b: float, *, x: float = 0.0, rings: int = 9, count: int = 720) -> tuple[np.ndarray, np.ndarray]:
    """Side of an elliptic cylinder from y = 0 to 1, open at both ends."""
    angles = np.linspace(0, 2 * np.pi, count, endpoint=False)
    heights = np.linspace(0, 1, rings)
    ring = np.stack([x + a * np.cos(angles), np.zeros(count), b * np.sin(angles)], axis=1)
    vertices = (ring[None] + heights[:, None, None] * UP).reshape(-1, 3)
    low = np.arange((rings - 1) * count)
    right = low // count * count + (low + 1) % count
    return vertices, np.concatenate(
        [np.stack([low, low + count, right], axis=1), np.stack([right, low + count, right + count], axis=1)]
    )


@pytest.mark.parametrize(("a", "b"), [(0.16, 0.11), (0.18, 0.12), (0.03, 0.02)])
def test_every_slice_of_an_elliptic_cylinder_has_the_closed_form_girth(a: float, b: float) -> None:
    levels = np.linspace(0.01, 0.99, 23)
    girths = cut(*tube(a, b), UP, levels).girths()
    # An inscribed polygon of n sides falls short by about (2π/n)²/24 of the perimeter.
    assert np.allclose(girths, ellipse_girth(a, b), rtol=1.2 * (2 * np.pi / 720) ** 2 / 8)
    assert np.all(girths <= ellipse_girth(a, b))


def test_girth_converges_with_the_square_of_the_edge_length() -> None:
    counts = np.array([24, 48, 96, 192])
    errors = [1 - cut(*tube(0.1, 0.1, count=n), UP, np.array([0.5])).girths()[0] / (0.2 * np.pi) for n in counts]
    slope = np.polyfit(np.log(counts), np.log(errors), 1)[0]
    assert slope == pytest.approx(-2, abs=0.1)


def test_a_tape_around_two_circles_is_their_hull() -> None:
    first, faces = tube(0.07, 0.07, x=-0.09)
    second, _ = tube(0.07, 0.07, x=0.09)
    slices = cut(np.concatenate([first, second]), np.concatenate([faces, faces + len(first)]), UP, np.array([0.5]))
    assert slices.loop_counts().tolist() == [2]
    assert slices.girths()[0] == pytest.approx(2 * np.pi * 0.07 + 2 * 0.18, rel=1e-5)


def test_an_oblique_slice_of_a_round_cylinder_is_an_ellipse() -> None:
    tilt = np.radians(25)
    normal = np.array([0.0, np.cos(tilt), np.sin(tilt)])
    girth = cut(*tube(0.05, 0.05), normal, np.array([0.5 * np.cos(tilt)])).girths()[0]
    assert girth == pytest.approx(ellipse_girth(0.05, 0.05 / np.cos(tilt)), rel=1e-4)


def test_a_plane_through_a_row_of_vertices_still_closes_the_loop() -> None:
    vertices, faces = tube(0.1, 0.1)
    slices = cut(vertices, faces, UP, np.array([0.25, 0.5]))
    assert slices.loop_counts().tolist() == [1, 1]
    assert np.allclose(slices.girths(), 0.2 * np.pi, rtol=1e-5)


def test_centres_lie_on_the_axis_and_are_nan_where_nothing_is_cut() -> None:
    slices = cut(*tube(0.1, 0.05, x=0.3), UP, np.array([-1.0, 0.4, 0.7, 2.0]))
    assert np.allclose(slices.centres()[1:3], [[0.3, 0.4, 0], [0.3, 0.7, 0]], atol=1e-9)
    assert np.isnan(slices.centres()[[0, 3]]).all()
    assert slices.girths()[[0, 3]].tolist() == [0, 0]


def test_the_longest_loop_of_each_level_is_kept() -> None:
    thin, faces = tube(0.02, 0.02, x=-0.5)
    wide, _ = tube(0.2, 0.2)
    slices = cut(np.concatenate([thin, wide]), np.concatenate([faces, faces + len(thin)]), UP, np.array([0.3, 0.6]))
    kept = slices.longest()
    assert kept.loop_counts().tolist() == [1, 1]
    assert np.allclose(kept.girths(), 0.4 * np.pi, rtol=1e-5)


def test_loops_are_told_by_the_triangles_they_cross() -> None:
    left, faces = tube(0.05, 0.05, x=-0.5)
    right, _ = tube(0.05, 0.05, x=0.5)
    both = np.concatenate([faces, faces + len(left)])
    slices = cut(np.concatenate([left, right]), both, UP, np.array([0.5]))
    marked = np.zeros(len(both), dtype=bool)
    marked[slices.face[slices.pieces[:, 0, 0] > 0][0]] = True
    assert np.array_equal(slices.touching(marked), slices.pieces[:, 0, 0] > 0)


def test_levels_out_of_order_are_refused() -> None:
    with pytest.raises(ArgumentError, match=r"cut: `levels` must be rising, got \[0.5, 0.2\]"):
        cut(*tube(0.1, 0.1), UP, np.array([0.5, 0.2]))


def test_a_bridge_closes_a_slit_of_its_plane_and_never_joins_two_planes() -> None:
    """Two halves of a tube with slits of 2 mm between them, cut by planes that lie nearer to each other than that."""
    vertices, faces = tube(0.1, 0.1)
    columns, sides = np.arange(len(vertices)) % 720, []
    for half in (columns < 360, columns >= 360):
        sides.append(faces[half[faces].all(axis=1)])
    apart = vertices + np.where(columns < 360, 0.0005, -0.0005)[:, None] * np.array([0.0, 0.0, 1.0])
    levels = np.array([0.5, 0.501])
    open_slices = cut(apart, np.concatenate(sides), UP, levels)
    slices = cut(apart, np.concatenate(sides), UP, levels, bridged=0.003)
    assert open_slices.loop_counts().tolist() == [2, 2]
    assert slices.loop_counts().tolist() == [1, 1]
    for loop in np.unique(slices.loop):
        assert len(np.unique(slices.level[slices.loop == loop])) == 1
