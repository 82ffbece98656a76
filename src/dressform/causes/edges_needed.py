"""How long an edge of cloth may be over a bend of the body, and how many edge loops that needs."""

import math

from dressform.errors import ArgumentError

ROUND_OFF = 1e-9  # share of an edge; a height that holds a whole number of edges needs no more of them


def longest_edge(room: float, radius: float, radius_across: float = math.inf) -> float:
    """Longest edge of an even-sided triangle that stays off a body which bends under it, metres.

    Corners at clearance c round a body with principal curvatures 1/R and r/R, r between 0 and 1: the middle of the
    triangle comes nearer by up to ½ f L²/R, and `room` is what may be lost, c minus the margin. Where r is at most a
    third, f = ¼, so L = √(8 R room) as along a cylinder: the middle of an edge is the nearest point. Above that
    f = s² / (4 s − 1) with s = (1 + 3 r) / 4, and r = 1, a sphere, gives L = √(6 R room).

    Args:
        room: Clearance that may be lost, metres.
        radius: R, smallest radius of curvature, metres.
        radius_across: R / r, the other radius; infinite where the body bends in one direction only.

    Raises:
        ArgumentError: a radius or the room is not positive, or the other radius is the smaller one.

    Source: linear interpolation of a quadratic [Waldron1998].
    Proof: tests/causes/test_edges_needed.py::test_no_triangle_of_that_edge_comes_nearer_than_the_room
    """
    for name, value in (("room", room), ("radius", radius)):
        if not value > 0.0:
            raise ArgumentError.of("longest_edge", name, "above 0 m", f"{value:g}", "Give what may be lost, and R")
    if not radius_across >= radius:
        rule = f"at least radius ({radius:g} m)"
        raise ArgumentError.of("longest_edge", "radius_across", rule, f"{radius_across:g}", "Swap the radii")
    side = (1.0 + 3.0 * radius / radius_across) / 4.0
    lost = 0.25 if side <= 0.5 else side**2 / (4.0 * side - 1.0)
    return math.sqrt(2.0 * radius * room / lost)


def pieces_of(edge: float, longest: float) -> int:
    """Into how many pieces an edge must be cut so that none is longer than `longest`."""
    return max(1, math.ceil(edge / longest * (1.0 - ROUND_OFF)))
