"""A garment modelled on another shape comes to the base with the ease that its maker gave it there."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.repair.rebase import rebase
from phantoms import GIRTH_GAIN, RADIUS, phantom_body, phantom_tube, tube

CLEARANCE = 0.02


def _grown_tube(clearance: float) -> Garment:
    """A tube at `clearance` from the body grown in girth."""
    vertices, faces = tube(clearance=clearance, rings=30, sides=48)
    grown = RADIUS * (1 + GIRTH_GAIN) + clearance
    return Garment.of("tube", vertices * np.array([grown, RADIUS + clearance, grown]) / (RADIUS + clearance), faces)


def test_a_tube_modelled_on_the_grown_body_comes_back_with_its_clearance() -> None:
    body = phantom_body(rings=80, sides=96)
    garment = _grown_tube(CLEARANCE)
    assert np.hypot(*garment.vertices[:, [0, 2]].T).max() - RADIUS == pytest.approx(CLEARANCE + GIRTH_GAIN * RADIUS)
    result = rebase(body, garment, body.weights({"girth": 1.0}))
    radii = np.hypot(*result.garment.vertices[:, [0, 2]].T)
    assert np.abs(radii - RADIUS - CLEARANCE).max() < 3e-4
    assert np.abs(result.clearance_change).max() < 3e-4
    assert np.abs(result.garment.vertices[:, 1] - garment.vertices[:, 1]).max() < 2e-3
    assert result.largest_move == pytest.approx(GIRTH_GAIN * RADIUS, abs=3e-4)
    assert result.rms_move == pytest.approx(GIRTH_GAIN * RADIUS, abs=3e-4)


def test_what_was_cut_loose_twice_on_its_own_shape_is_so_no_more() -> None:
    """Followed from where it was modelled, the tube grows by the body's growth again; rebased it lands where it was."""
    body = phantom_body(rings=80, sides=96)
    garment, shape = _grown_tube(CLEARANCE), body.weights({"girth": 1.0})
    skin = RADIUS * (1 + GIRTH_GAIN)

    def room(worn: Garment) -> np.ndarray:
        return np.hypot(*make_fit(body, worn).at(shape)[:, [0, 2]].T) - skin

    assert np.median(room(garment)) == pytest.approx(CLEARANCE + GIRTH_GAIN * RADIUS, abs=1e-3)
    rebased = rebase(body, garment, shape)
    assert np.abs(room(rebased.garment) - CLEARANCE).max() < 6e-4


def test_carried_back_it_is_the_garment_it_was() -> None:
    body = phantom_body(rings=80, sides=96)
    garment, shape = _grown_tube(CLEARANCE), body.weights({"girth": 1.0})
    result = rebase(body, garment, shape)
    back = make_fit(body, result.garment).at(shape) - garment.vertices
    assert result.back_largest == pytest.approx(np.linalg.norm(back, axis=1).max(), rel=1e-9)
    assert result.back_largest < 6e-4
    assert result.back_rms < result.back_largest


def test_the_base_body_changes_nothing() -> None:
    body, garment = phantom_body(), phantom_tube()
    result = rebase(body, garment, np.zeros(3))
    assert np.array_equal(result.garment.vertices, garment.vertices)
    assert result.largest_move == result.back_largest == 0.0
    assert np.array_equal(result.clearance_here, result.clearance_there)


def test_cloth_that_does_not_follow_is_carried_all_the_same_and_keeps_its_strength() -> None:
    body = phantom_body()
    shape, off = body.weights({"girth": 0.5}), _grown_tube(CLEARANCE)
    off = replace(off, strength=np.zeros(len(off.vertices)))
    result = rebase(body, off, shape)
    assert result.rms_move == pytest.approx(0.5 * GIRTH_GAIN * RADIUS, rel=0.05)
    assert np.array_equal(result.garment.strength, off.strength)


def test_weights_of_another_body_are_refused() -> None:
    with pytest.raises(ArgumentError, match=r"rebase: `weights` must be 3 finite weights, got \[1. 0.\]"):
        rebase(phantom_body(), phantom_tube(), np.array([1.0, 0.0]))
    with pytest.raises(ArgumentError, match="must be 3 finite weights"):
        rebase(phantom_body(), phantom_tube(), np.array([1.0, 0.0, np.nan]))
