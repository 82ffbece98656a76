"""Contact, defined once: skin that a stance closes, and skin that blending folds, against closed forms."""

import numpy as np
import pytest

from bent_limb import RADIUS, bent, limb
from dressform.body.stance import carry
from dressform.fit.contact import blended_maps, closed, closed_over_range, folding_sign
from dressform.fit.posed import posed_body

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


def test_nothing_closes_at_rest_nor_where_places_are_one_and_the_same_skin() -> None:
    assert not asked(0.0, 1.0, 0.05)
    assert not asked(130.0, 1.0, 0.008)  # 16 mm apart: under the cloth, however it is pressed together


def test_over_a_range_the_base_and_the_corner_that_brings_two_places_nearest_are_asked() -> None:
    """A bulge below the joint brings the two together that stay apart at the base."""
    body, stance = limb(ramp=RAMP), bent(130)
    there = posed_body(body, stance)
    terms = [np.concatenate([one.vertices[None], one.deltas]).transpose(1, 0, 2).copy() for one in (body, there)]
    rng = np.random.default_rng(2)
    on, others = rng.integers(0, len(body.faces), (2, 4000))
    feet = on, np.full((4000, 3), 1 / 3)
    told = closed_over_range(*terms, body.faces, feet, others, (body.range.low, body.range.high))
    at_base = closed(body.vertices, there.vertices, body.faces, feet, others)
    assert (told[at_base]).all()
    assert (told & ~at_base).any()


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
