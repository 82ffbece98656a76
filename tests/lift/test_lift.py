"""The lift carries constants, translations and similarities exactly, and stays linear."""

import numpy as np
import pytest
from jaxtyping import Float

from dressform.body.body import Body
from dressform.errors import ArgumentError
from dressform.garment.following import EASES, METHODS, Following
from dressform.garment.garment import Garment
from dressform.lift.lift import Lift, make_lift
from lift_phantoms import body_of, joined, sphere, tube

CLEARANCE = 0.02


def _moved(lift: Lift, delta: Float[np.ndarray, "B 3"]) -> Float[np.ndarray, "G 3"]:
    return lift.displacements(delta[None])[0]


@pytest.fixture(scope="module")
def body() -> Body:
    return body_of(tube(0.12, 0.6, 0.012, jitter=0.3))


@pytest.fixture(scope="module")
def garment() -> Garment:
    return Garment.of("sleeve", *tube(0.12 + CLEARANCE, 0.4, 0.014, twist=0.1, jitter=0.3, seed=1))


@pytest.mark.parametrize("method", METHODS)
def test_a_constant_field_is_lifted_to_the_same_constant(method: str, body: Body, garment: Garment) -> None:
    lift = make_lift(body, garment, Following(method=method))
    assert np.allclose(lift.apply(np.full((len(body.vertices), 2), 3.5)), 3.5, rtol=1e-11)


@pytest.mark.parametrize("ease", EASES)
@pytest.mark.parametrize("method", METHODS)
def test_a_translation_moves_the_cloth_by_exactly_that(method: str, ease: str, body: Body, garment: Garment) -> None:
    shift = np.array([0.3, -0.2, 0.7])
    moved = _moved(
        make_lift(body, garment, Following(method=method, ease=ease)), np.tile(shift, (len(body.vertices), 1))
    )
    assert np.abs(moved - shift).max() < 1e-11


@pytest.mark.parametrize("method", METHODS)
def test_a_small_rotation_turns_the_cloth_rigidly_when_the_offset_turns(
    method: str, body: Body, garment: Garment
) -> None:
    turn = np.array([0.02, -0.01, 0.03])
    moved = _moved(
        make_lift(body, garment, Following(method=method, rotation_share=1.0)), np.cross(turn, body.vertices)
    )
    assert np.abs(moved - np.cross(turn, garment.vertices)).max() < 1e-11


@pytest.mark.parametrize("method", METHODS)
def test_scaling_the_body_scales_the_garment_with_its_offset(method: str, body: Body, garment: Garment) -> None:
    lift = make_lift(body, garment, Following(method=method, ease="scale"))
    assert np.abs(_moved(lift, 0.1 * body.vertices) - 0.1 * garment.vertices).max() < 1e-11


def test_keeping_the_ease_of_a_scaled_sphere_keeps_the_distance() -> None:
    body = body_of(sphere(0.2, rows=60, columns=90))
    garment = Garment.of("cap", *sphere(0.2 + CLEARANCE, rows=50, columns=80, twist=0.03))
    moved = _moved(make_lift(body, garment), 0.1 * body.vertices)
    reached = np.linalg.norm(garment.vertices + moved, axis=1)
    assert np.abs(reached - (0.22 + CLEARANCE)).max() < 2e-4


@pytest.mark.parametrize("method", METHODS)
def test_the_lift_is_linear(method: str, body: Body, garment: Garment) -> None:
    lift = make_lift(body, garment, Following(method=method, ease="scale", rotation_share=0.7))
    rng = np.random.default_rng(5)
    one, two = 0.01 * rng.normal(size=(2, len(body.vertices), 3))
    mixed = _moved(lift, 0.3 * one - 1.7 * two)
    assert np.abs(mixed - 0.3 * _moved(lift, one) + 1.7 * _moved(lift, two)).max() < 1e-13


@pytest.mark.parametrize("method", METHODS)
def test_untidy_garments_follow_too(method: str, body: Body) -> None:
    """A button, a piece 3 m away, needles, doubled triangles, a branch, coincident and unused vertices."""
    cloth = tube(0.14, 0.3, 0.02, jitter=0.4)
    button, far = sphere(0.004, rows=3, columns=4), tube(0.05, 0.1, 0.02)
    vertices, faces = joined(
        cloth,
        (button[0] + np.array([0.0, 0.0, 0.145]), button[1]),
        (far[0] + np.array([3.0, 0.0, 0.0]), far[1]),
    )
    count = len(vertices)
    vertices = np.concatenate([vertices, vertices[:4], [[0.0, 0.5, 0.3], [0.2, 0.1, 0.0]]])
    faces = np.concatenate([faces, faces[:2], [[0, 0, 1], [2, 2, 2], [0, 1, count + 5]]])
    lift = make_lift(
        body, Garment.of("untidy", vertices, faces), Following(method=method, ease="scale", rotation_share=1.0)
    )
    turn, shift = np.array([0.1, -0.2, 0.05]), np.array([0.4, 0.0, -0.3])
    moved = _moved(lift, np.cross(turn, body.vertices) + 0.2 * body.vertices + shift)
    assert np.abs(moved - np.cross(turn, vertices) - 0.2 * vertices - shift).max() < 1e-9
    ripple = _moved(lift, 0.01 * np.sin(40 * body.vertices))
    # Its gradient is at most 0.4, so no offset turns or stretches by more than about its own length.
    assert (np.linalg.norm(ripple, axis=1) < 0.02 + 0.8 * np.linalg.norm(lift.offsets, axis=1)).all()


def test_a_body_without_morphs_lifts_nothing(body: Body, garment: Garment) -> None:
    assert make_lift(body, garment).displacements(body.deltas).shape == (0, len(garment.vertices), 3)


def test_an_unknown_way_is_refused_and_the_valid_ones_are_listed(body: Body, garment: Garment) -> None:
    with pytest.raises(
        ArgumentError,
        match=r"`method` must be one of nearest, nearest-three, surface, smooth, file, .* got 'near'",
    ):
        make_lift(body, garment, Following(method="near"))


def test_an_unknown_ease_is_refused_and_the_valid_ones_are_listed(body: Body, garment: Garment) -> None:
    with pytest.raises(ArgumentError, match="`ease` must be one of keep, scale, got 'loose'"):
        make_lift(body, garment, Following(ease="loose"))


def test_a_turn_beyond_its_share_is_refused(body: Body, garment: Garment) -> None:
    with pytest.raises(ArgumentError, match=r"`rotation_share` must be in \[0, 1\], got 1.5"):
        make_lift(body, garment, Following(rotation_share=1.5))
