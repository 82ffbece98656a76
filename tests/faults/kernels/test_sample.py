"""Areas newly inside are shared out to the corners without loss, zeros at corners included."""

import numpy as np
import pytest

from dressform.faults.kernels.sample import piece_areas

AREA = 0.3


def lattice(order: int) -> np.ndarray:
    """Barycentric coordinates of a triangle's lattice, row by row as cells are sampled, (N, 3)."""
    rows = [(row, column) for row in range(order + 1) for column in range(order + 1 - row)]
    v, u = (np.array(each) / order for each in zip(*rows))
    return np.stack([1 - u - v, u, v], axis=1)


def taken(order: int, now: np.ndarray, before: np.ndarray) -> np.ndarray:
    _, at_corners, _ = piece_areas(np.array([AREA]), np.array([order]), np.array([0, len(now)]), now, before)
    return at_corners


@pytest.mark.parametrize("corner", range(3))
@pytest.mark.parametrize("sunk", [1, 2, 3])
def test_what_newly_lies_inside_up_to_a_line_through_lattice_points_is_shared_out_whole(corner: int, sunk: int) -> None:
    """Inside beyond a line `sunk` of four rows from a corner lies a triangle of (sunk/4)² of the area."""
    order = 4
    now = (order - sunk) - np.round(order * lattice(order)[:, corner])
    found = taken(order, now, np.ones(len(now)))
    assert (now == 0.0).any()
    assert found.sum() == pytest.approx(AREA * (sunk / order) ** 2, rel=1e-12)
    assert (found[now >= 0.0] == 0.0).all()


def test_what_lay_inside_before_is_not_shared_out() -> None:
    now = np.where(lattice(3)[:, 0] > 0.5, -1.0, 1.0)
    assert taken(3, now, now).sum() == 0.0
