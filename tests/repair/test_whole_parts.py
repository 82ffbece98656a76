"""Cloth beyond an extremity follows it as a whole and keeps its form; what would pucker for it is declined."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.repair.whole.whole_parts import follow_whole
from meshes import joined, sheet, sphere, tube

RADIUS = 0.05
FAR = 0.1
TURN, GROWTH, SHIFT = np.array([0.2, -0.1, 0.3]), 0.1, np.array([0.02, 0.0, -0.01])
NAMES = ("turn", "grow")


def _similarity(points: np.ndarray) -> np.ndarray:
    """Two morphs: a linearised turn with a shift, and growth."""
    spokes = points - np.array([0.3, 0.1, 0.0])
    return np.stack([np.cross(TURN, spokes) + SHIFT, GROWTH * spokes])


def _ball() -> Body:
    vertices, faces = sphere(4, radius=RADIUS)
    return Body("ball", vertices, faces, NAMES, _similarity(vertices), Range.unit(NAMES))


def _cap() -> Garment:
    """A sheet beyond the top of the ball: its footprint is at most (0.05 / 0.15)² = 0.11."""
    vertices, faces = sheet(25)
    flat = 0.12 * (vertices - 0.5)
    flat[:, 2] = RADIUS + FAR
    return Garment(
        "cap", flat, faces, ("near", "off"), (flat[faces][:, :, 0].mean(axis=1) > 0).astype(int), np.ones(625)
    )


def _noisy(garment: Garment, body: Body | None = None, seed: int = 2) -> Fit:
    deltas = 0.01 * np.random.default_rng(seed).normal(size=(2, len(garment.vertices), 3))
    return _moving(garment, deltas, body)


def _moving(garment: Garment, deltas: np.ndarray, body: Body | None = None) -> Fit:
    return Fit(_ball() if body is None else body, garment, DEFAULT_FOLLOWING, garment.vertices, deltas)


def test_a_cap_on_a_turning_ball_follows_it_exactly() -> None:
    fit = _noisy(_cap())
    result = follow_whole(fit)
    assert len(result.parts) == 1
    part = result.parts[0]
    assert part.name == "near, off"
    assert part.footprint == pytest.approx((RADIUS / (np.hypot(0.15, np.hypot(0.06, 0.06)))) ** 2, rel=0.1)
    assert np.array_equal(result.share, np.ones(625))
    assert np.allclose(result.fit.deltas, _similarity(fit.base), atol=1e-10)
    assert part.form_before > 0.005
    assert part.form_after < 0.1 * part.form_before
    assert part.pucker_after < 1e-9
    assert result.cost.pucker_after < 1e-9


def test_a_growing_part_keeps_its_form_exactly() -> None:
    body = replace(_ball(), deltas=_ball().deltas[1:], morph_names=("grow",), range=Range.unit(("grow",)))
    garment = _cap()
    fit = _moving(garment, _noisy(garment).deltas[:1], body)
    assert follow_whole(fit).parts[0].form_after < 1e-12


def test_whole_part_following_is_linear_in_the_displacement_of_the_body() -> None:
    vertices, rng = _ball().vertices, np.random.default_rng(4)
    fields = 0.02 * np.sin(30 * vertices[None] + rng.uniform(0, 7, (2, 1, 3)))
    garment = _cap()
    still = 0 * _noisy(garment).deltas
    each = follow_whole(_moving(garment, still, replace(_ball(), deltas=fields)), parts=garment.part_names)
    mixed = np.stack([2.0 * fields[0] - 0.5 * fields[1], fields[1]])
    both = follow_whole(_moving(garment, still, replace(_ball(), deltas=mixed)), parts=garment.part_names)
    assert np.allclose(both.fit.deltas[0], 2.0 * each.fit.deltas[0] - 0.5 * each.fit.deltas[1], atol=1e-12)


def test_the_following_passes_into_the_rest_by_a_smoothstep_along_the_cloth() -> None:
    """A part asked for on cloth near the skin: from its last row of vertices the share falls over the blend."""
    vertices, faces = sheet(41)
    flat = 0.2 * vertices + np.array([-0.1, -0.1, 0.0])
    body = Body("skin", flat, faces, NAMES, _similarity(flat), Range.unit(NAMES))
    side = flat[faces][:, :, 0].max(axis=1) > 1e-9
    garment = Garment(
        "cloth", flat + np.array([0.0, 0.0, 0.01]), faces, ("asked", "rest"), side.astype(int), np.ones(1681)
    )
    result = follow_whole(_noisy(garment, body), parts=["asked"], blend=0.04)
    share = np.clip(flat[:, 0] / 0.04, 0.0, 1.0)
    assert result.share == pytest.approx(1.0 - share * share * (3.0 - 2.0 * share), abs=1e-9)
    assert result.parts[0].name == "asked"
    far = result.share == 0
    assert far.sum() > 400
    assert np.array_equal(result.fit.deltas[:, far], _noisy(garment).deltas[:, far])
    wholly = result.share == 1
    assert np.allclose(result.fit.deltas[:, wholly], _similarity(garment.vertices)[:, wholly], atol=1e-10)


def test_left_and_right_follow_their_own_side() -> None:
    ball, faces = sphere(3, radius=RADIUS)
    shell = 1.1 * ball
    apart = np.array([0.3, 0.0, 0.0])
    vertices, triangles = joined((ball - apart, faces), (ball + apart, faces))
    left = (vertices[:, 0] > 0)[:, None]
    body = Body("hands", vertices, triangles, NAMES, np.stack([left * SHIFT, ~left * SHIFT]), Range.unit(NAMES))
    garment = Garment.of("gloves", *joined((shell - apart, faces), (shell + apart, faces)))
    result = follow_whole(_noisy(garment, body), parts=["gloves"])
    assert len(result.parts) == 2
    own = (garment.vertices[:, 0] > 0)[:, None]
    assert np.allclose(result.fit.deltas, np.stack([own * SHIFT, ~own * SHIFT]), atol=1e-12)


def test_a_named_region_is_what_is_followed() -> None:
    body = _ball()
    low = body.vertices[:, 2] < 0
    moved = replace(body, deltas=np.stack([low[:, None] * SHIFT, 0 * body.vertices]), regions={"under": low})
    result = follow_whole(_noisy(_cap(), moved), regions={"near": "under", "off": "under"})
    assert np.allclose(result.fit.deltas[0], SHIFT, atol=1e-12)
    assert np.array_equal(result.parts[0].skin, np.flatnonzero(low))


def test_a_garment_s_strength_still_holds() -> None:
    garment = replace(_cap(), strength=np.full(625, 0.5))
    result = follow_whole(_noisy(garment))
    assert np.allclose(result.fit.deltas, 0.5 * _similarity(garment.vertices), atol=1e-10)


def test_a_limb_is_no_extremity() -> None:
    vertices, faces = tube((RADIUS, RADIUS), 0.8, around=48, rows=40)
    body = Body("limb", vertices, faces, NAMES, _similarity(vertices), Range.unit(NAMES))
    sleeve, sleeve_faces = tube((8 * RADIUS, 8 * RADIUS), 0.4, around=48, rows=20)
    fit = _noisy(Garment.of("sleeve", sleeve + np.array([0.0, 0.2, 0.0]), sleeve_faces), body)
    result = follow_whole(fit)
    assert result.fit is fit
    assert result.parts == ()
    assert result.cost.largest_move == 0.0


def test_what_was_found_and_keeps_its_form_is_left_alone() -> None:
    garment = _cap()
    fit = _moving(garment, 0 * _noisy(garment).deltas + SHIFT)
    result = follow_whole(fit)
    assert result.fit is fit
    assert result.declined == ()


def _tongue() -> Fit:
    """A long tongue of cloth beyond the ball that bends smoothly and does not move with it, while the ball shifts."""
    vertices, faces = sheet(61)
    flat = np.stack([0.06 * (vertices[:, 0] - 0.5), RADIUS + 0.02 + 0.3 * vertices[:, 1], 0 * vertices[:, 0]], axis=1)
    garment = Garment.of("tongue", flat, faces)
    bent = np.zeros((2, len(flat), 3))
    bent[0, :, 2] = 2.0 * (flat[:, 1] - 0.2) ** 2
    ball = _ball()
    return _moving(garment, bent, replace(ball, deltas=0 * ball.deltas + np.array([0.1, 0.0, 0.0])))


def test_a_piece_whose_passage_would_pucker_is_declined() -> None:
    fit = _tongue()
    result = follow_whole(fit)
    assert result.fit is fit
    assert result.parts == ()
    assert len(result.declined) == 1
    assert result.declined[0].pucker_after > 10 * result.declined[0].pucker_before
    assert not result.share.any()


def test_what_is_asked_for_is_done_all_the_same() -> None:
    fit = _tongue()
    result = follow_whole(fit, parts=["tongue"])
    assert len(result.parts) == 1
    assert np.allclose(result.fit.deltas, np.array([0.1, 0.0, 0.0]), atol=1e-12)


def test_nothing_is_looked_for_where_that_is_switched_off() -> None:
    fit = _noisy(_cap())
    assert follow_whole(fit, detect=False).fit is fit


def test_an_unknown_part_is_refused_and_the_parts_are_listed() -> None:
    with pytest.raises(ArgumentError, match="parts of 'cap': near, off, got 'toe'"):
        follow_whole(_noisy(_cap()), parts=["toe"])


def test_a_blend_that_is_not_positive_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`blend` must be positive metres, got 0"):
        follow_whole(_noisy(_cap()), blend=0.0)
