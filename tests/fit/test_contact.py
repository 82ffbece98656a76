"""Contact, defined once: skin that a stance closes, and skin that blending folds, against closed forms."""

import numpy as np
import pytest

from bent_limb import RADIUS, bent, limb
from dressform.body.stance import carry
from dressform.fit.contact import blended_maps, closed, folding_sign

RAMP = 0.02


def middle_of(body_vertices: np.ndarray, faces: np.ndarray, place: list[float]) -> int:
    return int(np.argmin(np.abs(body_vertices[faces].mean(axis=1) - place).sum(axis=1)))


def asked(degrees: float, side: float, apart: float) -> bool:
    """Whether two places of a sharply bent limb, as far from the joint as each other, close."""
    body = limb(ramp=RAMP)
    first, second = (middle_of(body.vertices, body.faces, [0.0, way * apart, side * RADIUS]) for way in (-1, 1))
    feet = np.array([first]), np.full((1, 3), 1 / 3)
    posed = carry(bent(degrees).maps(body.skin, body.skeleton), body.vertices)
    return bool(closed(body.vertices, posed, body.faces, feet, np.array([second]))[0])


@pytest.mark.parametrize("degrees", [100.0, 130.0])
def test_the_inner_side_of_a_sharp_bend_closes_and_the_outer_does_not(degrees: float) -> None:
    assert asked(degrees, 1.0, 0.05)
    assert not asked(degrees, -1.0, 0.05)


def test_skin_that_a_gentler_bend_presses_together_does_not_close() -> None:
    """At 80° normals make less than a right angle; far from the joint two places keep 0.6 of their distance."""
    assert not asked(80.0, 1.0, 0.2)
    assert asked(130.0, 1.0, 0.2)


def test_nothing_closes_at_rest_nor_where_places_are_one_and_the_same_skin() -> None:
    assert not asked(0.0, 1.0, 0.05)
    assert not asked(130.0, 1.0, 0.008)  # 16 mm apart: under the cloth, however it is pressed together


def test_sign_is_that_of_the_determinant_in_closed_form() -> None:
    """det F = 1 − 4 w (1 − w) s² + w′ [(2 w − 1)(1 − cos θ) y − z sin θ] for a linear ramp."""
    ramp, angle = 0.05, np.radians(110)
    body = limb(ramp=ramp, rings=121, sides=48)
    maps = bent(110).maps(body.skin, body.skeleton)
    faces, there = body.faces, carry(maps, body.vertices)
    sign = folding_sign(body.vertices[faces], there[faces], blended_maps(maps, faces))
    corners = body.vertices[body.faces]
    middles = corners.mean(axis=1)
    whole = (np.abs(corners[:, :, 1]) < ramp / 2).all(axis=1)
    y, z = middles[whole, 1], middles[whole, 2]
    w = y / ramp + 0.5
    s = np.sin(angle / 2)
    det = 1 - 4 * w * (1 - w) * s**2 + ((2 * w - 1) * (1 - np.cos(angle)) * y - z * np.sin(angle)) / ramp
    clear = np.abs(det) > 0.05
    assert (det[clear] < 0).any()
    assert (np.sign(sign[whole][clear]) == np.sign(det[clear])).all()
