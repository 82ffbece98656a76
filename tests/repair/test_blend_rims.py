"""Cloth over a rigid patch follows a ramp of known form, the body keeps its morph, and clearance is kept afterwards."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows
from dressform.faults.rim_step import RigidPatch, find_rigid_patches
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.repair.blend_rims import blend_rims, smoothing_length, without_jumps
from meshes import sheet

SIDE = 0.4
STEP = 0.012
SLOPE = 0.2
LENGTH = STEP / (4 * SLOPE)
ROOM = 0.004
NAMES = ("bump", "patch")


def _body(size: int = 81) -> Body:
    """A sheet of skin with a smooth bump and, as second morph, a patch: its half below x = 0.2 rises by a step."""
    vertices, faces = sheet(size)
    vertices = SIDE * vertices
    up = np.array([0.0, 0.0, 1.0])
    bump = 0.02 * np.exp(-(((vertices[:, :2] - 0.2) / 0.1) ** 2).sum(axis=1))[:, None] * up
    rigid_patch = STEP * (vertices[:, 0] < 0.2 - 1e-9)[:, None] * up
    return Body("skin", vertices, faces, NAMES, np.stack([bump, rigid_patch]), Range.unit(NAMES))


def _cloth(size: int = 51) -> Garment:
    vertices, faces = sheet(size)
    return Garment.of("cloth", 0.36 * vertices + np.array([0.02, 0.02, ROOM]), faces)


def _smoothed(body: Body) -> np.ndarray:
    rigid_patches = find_rigid_patches(body.vertices, body.faces, body.deltas[1]).rigid_patches
    return without_jumps(body, body.deltas[1], rigid_patches, slope=SLOPE)


def test_a_straight_jump_becomes_the_ramp_of_the_kernel() -> None:
    """u(x) = step (2 + x/ℓ) exp(−x/ℓ) / 4 beyond the rim, and the mirror image of that before it."""
    body = _body(161)
    spacing = SIDE / 160
    field = _smoothed(body)
    across = (body.vertices[:, 0] - (0.2 - spacing / 2)) / LENGTH
    tail = STEP * (2.0 + np.abs(across)) * np.exp(-np.abs(across)) / 4.0
    expected = np.where(across > 0, tail, STEP - tail)
    near = np.abs(across) < 1.5
    assert np.abs(field[near, 2] - expected[near]).max() < 0.02 * STEP
    assert np.abs(field[:, :2]).max() < 1e-12


def test_away_from_the_rim_the_morph_is_left_alone() -> None:
    body = _body()
    field = _smoothed(body)
    far = np.abs(body.vertices[:, 0] - 0.2) > 7 * LENGTH
    assert far.sum() > 1000
    assert np.abs(field - body.deltas[1])[far].max() < 1e-7


def test_the_steepest_slope_left_is_the_one_asked_for() -> None:
    morph = blend_rims(make_fit(_body(), _cloth()), slope=SLOPE).morphs[0]
    assert morph.name == "patch"
    assert morph.jump_before > 5 * SLOPE
    assert morph.jump_after == pytest.approx(SLOPE * 5 / 6, rel=0.25)  # a diagonal of three edges rises as the others
    assert morph.moved == pytest.approx(STEP / 2, rel=0.15)


def test_the_length_is_the_rim_s_spacing_or_what_lays_the_jump_down() -> None:
    rigid_patch = RigidPatch(np.arange(3), 0.01, STEP, 0.002, 6.0, 0.0, 0.0, 0.0)
    assert smoothing_length(rigid_patch, slope=SLOPE) == pytest.approx(0.015)
    assert smoothing_length(replace(rigid_patch, spacing=0.02), slope=SLOPE) == 0.02


def test_the_body_and_the_other_morphs_stay_as_they_are() -> None:
    body = _body()
    fit = make_fit(body, _cloth())
    deltas, lifted = body.deltas.copy(), fit.deltas.copy()
    result = blend_rims(fit)
    assert np.array_equal(body.deltas, deltas)
    assert np.array_equal(fit.deltas, lifted)
    assert np.array_equal(result.fit.deltas[0], fit.deltas[0])
    assert np.array_equal(result.fit.base, fit.base)
    assert not np.array_equal(result.fit.deltas[1], fit.deltas[1])


def test_the_new_delta_is_the_lift_of_the_smoothed_field() -> None:
    body, garment = _body(), _cloth()
    result = blend_rims(make_fit(body, garment), slope=SLOPE)
    alone = replace(body, deltas=np.stack([body.deltas[0], _smoothed(body)]))
    assert np.allclose(result.fit.deltas, make_fit(alone, garment).deltas, atol=1e-12)


def test_cloth_puckers_less_and_the_cost_says_so() -> None:
    body, garment = _body(), _cloth()
    fit = make_fit(body, garment)
    result = blend_rims(fit)
    windows = pucker_windows(garment.vertices, garment.faces)
    shape = np.array([0.0, 1.0])
    before, after = (measure_pucker(windows, pucker_index(windows, each.at(shape))) for each in (fit, result.fit))
    assert after.max < 0.3 * before.max
    assert result.cost.pucker_after < 0.5 * result.cost.pucker_before
    assert 0.3 * STEP < result.cost.largest_move < 0.6 * STEP


def test_clearance_is_kept_afterwards_where_asked() -> None:
    body, garment = _body(41), _cloth(31)
    result = blend_rims(make_fit(body, garment), clear=True)
    assert result.clearance is not None
    assert result.clearance.short_before > 0
    assert len(result.clearance.conflicts) == 0
    assert result.fit is result.clearance.fit


def test_a_fit_of_a_body_without_rigid_patches_is_returned_as_it_came() -> None:
    body = _body(41)
    calm = replace(body, deltas=np.stack([body.deltas[0], 0.5 * body.deltas[0]]))
    fit = make_fit(calm, _cloth(31))
    result = blend_rims(fit, clear=True)
    assert result.fit is fit
    assert result.morphs == ()
    assert result.clearance is None


def test_a_slope_that_is_not_positive_is_refused() -> None:
    body = _body(9)
    with pytest.raises(ArgumentError, match="`slope` must be positive, got 0"):
        blend_rims(make_fit(body, _cloth(5)), slope=0.0)
