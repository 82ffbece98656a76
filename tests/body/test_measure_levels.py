"""Where the tape lies on a body that is not the same on both sides, and how far under the armpits, in closed form."""

from dataclasses import replace

import numpy as np
import pytest

import phantom
from dressform.body.measure import Measurer
from dressform.body.range import Range
from phantom import Phantom

SWELL, WIDTH = 0.03, 0.03
HEIGHT_TOLERANCE = 0.009  # of meshes with edges of 12 mm


def bumps(points: np.ndarray, levels: tuple[float, float]) -> np.ndarray:
    """How far the surface stands out more, metres: round bumps in the middle of each side, left then right."""
    return sum(
        SWELL * np.exp(-((points[..., 0] - side * 0.06) ** 2 + (points[..., 1] - level) ** 2) / (2 * WIDTH**2))
        for side, level in zip((1.0, -1.0), levels)
    )


def crests(levels: tuple[float, float]) -> list[float]:
    """Heights at which trunk and bumps together stand out farthest on each side, read off a fine grid."""
    found = []
    for side in (1.0, -1.0):
        x, y = np.meshgrid(side * np.linspace(0.001, 0.12, 240), np.linspace(0.79, 1.32, 1061), indexing="ij")
        depth = phantom.half_depth(y) * np.sqrt(1 - (x / phantom.half_width(y)) ** 2)
        depth = depth + bumps(np.stack([x, y], axis=-1), levels)
        found.append(float(y.flat[int(np.argmax(depth))]))
    return found


def height_with_bumps(measure: str, levels: tuple[float, float], forward: float) -> float:
    """Height of a measure on the shape whose seat (or chest) has a bump on each side."""
    body = Phantom().body_with_joints
    deltas = np.zeros((1, *body.vertices.shape))
    # Bumps of front or back only, and none on the arms.
    chosen = (forward * body.vertices[:, 2] > 0) & (np.abs(body.vertices[:, 0]) < 0.16)
    deltas[0, chosen, 2] = forward * bumps(body.vertices[chosen], levels)
    morphed = replace(body, morph_names=("uneven",), deltas=deltas, range=Range.unit(("uneven",)))
    height = Measurer(morphed).measure(np.ones(1)).named(measure).height
    assert height is not None
    return float(height)


@pytest.mark.parametrize("levels", [(0.85, 0.91), (0.92, 0.85)])
def test_the_hip_lies_at_the_mean_height_of_two_uneven_sides_of_the_seat(levels: tuple[float, float]) -> None:
    left, right = crests(levels)
    assert abs(left - right) > 0.045
    assert height_with_bumps("hip", levels, -1.0) == pytest.approx((left + right) / 2, abs=HEIGHT_TOLERANCE)


@pytest.mark.parametrize("levels", [(1.21, 1.26), (1.26, 1.21)])
def test_the_bust_lies_at_the_mean_height_of_two_uneven_bust_points(levels: tuple[float, float]) -> None:
    left, right = crests(levels)
    assert abs(left - right) > 0.03
    assert height_with_bumps("bust", levels, 1.0) == pytest.approx((left + right) / 2, abs=HEIGHT_TOLERANCE)


def test_the_chest_lies_half_a_tape_of_stature_under_the_armpits() -> None:
    """Arms held level meet the trunk with their underside: the tape's middle is 0.8 % of the stature below it."""
    underside = phantom.SHOULDERS - 0.05 - float(phantom.arm_radius(np.array(0.0)))
    body = Phantom(drop=0.0).body
    height = Measurer(body).measure(np.zeros(1)).named("chest").height
    assert height == pytest.approx(underside - 0.008 * phantom.CROWN, abs=0.003)
