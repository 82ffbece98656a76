"""Cloth that passes through itself is graded by what is seen of it, and not blamed where the body presses it there."""

import numpy as np
import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.faults.self_crossing import cut_depths
from fault_meshes import icosphere, make_body, make_fit, sheet

RADIUS, GAP = 0.2, 0.02


@pytest.mark.parametrize("reach", [0.0005, 0.004, 0.03])
def test_a_corner_that_pierces_a_sheet_cuts_as_deep_as_it_reaches(reach: float) -> None:
    flat = np.array([[-1.0, 0.0, -1.0], [1.0, 0.0, -1.0], [0.0, 0.0, 2.0]])
    spike = np.array([[0.0, -reach, 0.0], [0.05, 0.1, 0.0], [-0.05, 0.1, 0.0]])
    found = cut_depths(np.concatenate([flat, spike]), np.array([[0, 1, 2], [3, 4, 5]]), np.array([[0, 1]]))
    assert found[0] == pytest.approx(reach, rel=1e-9)


def two_sheets(drop: float) -> ShapeFaults:
    """Two sheets over a ball, one above the other; the upper one tilts down through the lower by `drop` at one side."""
    body = make_body(*icosphere(RADIUS, level=3), tilt=np.zeros(3))
    low, faces = sheet(0.5, count=25, height=RADIUS + GAP)
    high = low + np.array([0.0, 0.005, 0.0])
    move = np.zeros((2 * len(low), 3))
    move[len(low) :, 1] = -(0.005 + drop) * (low[:, 0] > 0.12)
    fit = make_fit(np.concatenate([low, high]), np.concatenate([faces, faces + len(low)]), body, tilt=move)
    return GarmentOnBody(fit).measure(np.ones(1))


def test_cloth_that_only_touches_is_clean_however_many_pairs_cross() -> None:
    found = two_sheets(0.0003)
    assert found.broken.crossing_pairs > 20
    assert found.broken.cut_depth < 0.001
    assert found.severities["crossing"] == "clean"


def test_cloth_that_cuts_deep_is_graded_by_its_area() -> None:
    found = two_sheets(0.02)
    # One column of squares of 2 cm in either sheet passes through the other.
    assert found.broken.cut_area == pytest.approx(2 * 0.5 * 0.02, rel=0.6)
    assert found.severities["crossing"] == "grave"


def two_legs(apart: float) -> ShapeFaults:
    """Two balls with a sleeve each that come together until their skins are `apart`."""
    ball, ball_faces = icosphere(RADIUS, level=4)
    shell, shell_faces = icosphere(RADIUS + 0.01, level=4)
    start, move = np.array([RADIUS + 0.1, 0.0, 0.0]), np.array([0.1 - apart / 2, 0.0, 0.0])
    moves = [np.repeat(np.vstack([-move, move]), len(points), axis=0) for points in (ball, shell)]
    skin = np.concatenate([ball + start, ball - start])
    body = make_body(skin, np.concatenate([ball_faces, ball_faces + len(ball)]), meet=moves[0])
    cloth = np.concatenate([shell + start, shell - start])
    fit = make_fit(cloth, np.concatenate([shell_faces, shell_faces + len(shell)]), body, meet=moves[1])
    return GarmentOnBody(fit).measure(np.ones(1))


@pytest.mark.parametrize("apart", [0.012, 0.002, -0.01])
def test_cloth_that_the_body_presses_together_is_not_blamed(apart: float) -> None:
    found = two_legs(apart)
    assert found.broken.crossing_pairs == 0
    assert found.severities["crossing"] == "clean"


def beside_bare_skin(apart: float, lining: float) -> ShapeFaults:
    """A bare ball comes near one in a lined sleeve, 3 cm off, whose outer layer dips through the lining."""
    ball, ball_faces = icosphere(RADIUS, level=4)
    far, start = np.array([-RADIUS - 1.0, 0.0, 0.0]), np.array([RADIUS, 0.0, 0.0])
    nearer = np.concatenate([np.zeros(ball.shape), np.tile([1.0 - apart, 0.0, 0.0], (len(ball), 1))])
    both = np.concatenate([ball_faces, ball_faces + len(ball)])
    body = make_body(np.concatenate([ball + start, ball + far]), both, dip=nearer)
    inner, outer = ball * (1 + 0.03 / RADIUS), ball * (1 + (0.03 + lining) / RADIUS)
    facing = np.linalg.norm(outer - np.array([-RADIUS - 0.03, 0.0, 0.0]), axis=1) < 0.045
    move = np.concatenate([np.zeros(inner.shape), -0.15 * outer * facing[:, None] * (0.02 / 0.03)])
    faces = np.concatenate([ball_faces, ball_faces + len(ball)])
    return GarmentOnBody(make_fit(np.concatenate([inner, outer]) + start, faces, body, dip=move)).measure(np.ones(1))


def test_layers_over_one_part_that_cut_each_other_are_blamed_however_near_another_part_is() -> None:
    # The bare ball is nearer than twice the clearance, but it is not what the layers are pressed between.
    near, far = beside_bare_skin(0.037, 0.004), beside_bare_skin(1.0, 0.004)
    assert far.broken.crossing_pairs > 20
    assert near.broken.crossing_pairs == far.broken.crossing_pairs
