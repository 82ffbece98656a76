"""Edges over a bend: closed forms on the cylinder and the sphere, and a search over triangles between them."""

import math

import numpy as np
import pytest

from dressform.causes.edges_needed import longest_edge, pieces_of
from dressform.errors import ArgumentError


def deepest(edge: float, radius: float, radius_across: float) -> float:
    """How much nearer than its corners an even-sided triangle comes to the body, in its worst direction."""
    grid = np.linspace(0.0, 1.0, 121)
    first, second = (one[grid[:, None] + grid <= 1.0] for one in np.meshgrid(grid, grid, indexing="ij"))
    shares = np.stack([first, second, 1.0 - first - second], axis=1)
    found = 0.0
    for angle in np.linspace(0.0, np.pi / 3.0, 31):
        turns = angle + np.array([0.0, 2.0, 4.0]) * np.pi / 3.0
        corners = edge / math.sqrt(3.0) * np.stack([np.cos(turns), np.sin(turns)], axis=1)
        falls = corners**2 @ np.array([0.5 / radius, 0.5 / radius_across])
        inner = (shares @ corners) ** 2 @ np.array([0.5 / radius, 0.5 / radius_across])
        found = max(found, float((shares @ falls - inner).max()))
    return found


def test_an_edge_along_a_cylinder_has_the_sagitta_of_a_chord() -> None:
    radius, margin, clearance = 0.092, 0.004, 0.005
    assert longest_edge(clearance - margin, radius) == pytest.approx(math.sqrt(8.0 * radius * 0.001), rel=1e-12)
    chord = longest_edge(1e-6, radius)
    assert radius - math.sqrt(radius**2 - chord**2 / 4.0) == pytest.approx(1e-6, rel=1e-4)


def test_a_triangle_on_a_sphere_is_nearest_in_its_middle() -> None:
    assert longest_edge(0.002, 0.05, 0.05) == pytest.approx(math.sqrt(6.0 * 0.05 * 0.002), rel=1e-12)


@pytest.mark.parametrize("across", [0.05, 0.07, 0.1, 0.149, 0.2, math.inf])
def test_no_triangle_of_that_edge_comes_nearer_than_the_room(across: float) -> None:
    edge = longest_edge(0.002, 0.05, across)
    assert deepest(edge, 0.05, across) == pytest.approx(0.002, rel=2e-3)


def test_an_edge_is_cut_into_as_few_pieces_as_do() -> None:
    assert [pieces_of(edge, 0.026) for edge in (0.020, 0.026, 0.041, 0.052, 0.053)] == [1, 1, 2, 2, 3]


@pytest.mark.parametrize(
    ("room", "radius", "across", "said"),
    [
        (0.0, 0.1, 0.2, "`room` must be above 0 m, got 0"),
        (0.1, math.nan, 0.2, "`radius` must be above 0 m, got nan"),
        (0.1, 0.2, 0.1, r"`radius_across` must be at least radius \(0.2 m\), got 0.1"),
    ],
)
def test_what_is_no_bend_is_refused(room: float, radius: float, across: float, said: str) -> None:
    with pytest.raises(ArgumentError, match=said):
        longest_edge(room, radius, across)
