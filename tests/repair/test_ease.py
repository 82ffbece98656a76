"""A tape after the repair reads what was asked, elsewhere what it read before, and the style stays."""

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.mesh.sections import girth
from dressform.repair.ease import FADE, profile, set_ease
from phantoms import RADIUS, phantom_body, tube

CLEARANCE = 0.02
SIDES = 40
LEVELS = {"chest": 1.1, "waist": 0.9}
UP = np.array([0.0, 1.0, 0.0])


def _fit(*, pleats: float = 0.0, clearance: float = CLEARANCE) -> Fit:
    """A tube with a ring of vertices at every 2 cm; `pleats` waves its radius."""
    vertices, faces = tube(clearance=clearance, rings=36, sides=SIDES)
    waves = 1.0 + pleats * np.cos(10 * np.arctan2(vertices[:, 0], vertices[:, 2]))
    worn = vertices * np.stack([waves, np.ones_like(waves), waves], axis=1)
    return make_fit(phantom_body(), Garment.of("tube", worn, faces))


def _radii(fit: Fit, height: float) -> np.ndarray:
    ring = np.abs(fit.base[:, 1] - height) < 1e-9
    assert ring.sum() == SIDES
    return np.hypot(*fit.base[ring][:, [0, 2]].T)


@pytest.mark.parametrize("gain", [0.04, -0.03])
def test_the_tape_reads_just_what_was_asked_and_the_tube_grew_by_it_over_two_pi(gain: float) -> None:
    result = set_ease(_fit(), change={"chest": gain}, levels=LEVELS)
    waist, chest = result.levels
    assert (waist.name, chest.name) == ("waist", "chest")
    assert chest.girth_after - chest.girth_before == pytest.approx(gain, abs=1e-6)
    assert waist.girth_after == pytest.approx(waist.girth_before, abs=1e-6)
    assert result.missed < 1e-6
    around = 2 * SIDES * np.sin(np.pi / SIDES)  # 2π but for the polygon
    assert _radii(result.fit, 1.1) - RADIUS - CLEARANCE == pytest.approx(gain / around, abs=1e-6)
    assert result.largest_move == pytest.approx(abs(gain) / around, abs=1e-6)
    point = np.array([0.0, 1.1, 0.0])
    assert chest.girth_after == pytest.approx(girth(result.fit.base, result.fit.garment.faces, point, UP), abs=1e-9)


def test_a_wanted_ease_is_reached_at_every_level_at_once() -> None:
    result = set_ease(_fit(), wanted={"chest": 0.20, "waist": 0.08}, levels=LEVELS)
    assert {level.name: level.ease_after for level in result.levels} == pytest.approx(
        {"chest": 0.20, "waist": 0.08}, abs=1e-6
    )
    for level in result.levels:
        assert level.ease_after - level.ease_before == pytest.approx(level.asked, abs=1e-6)


def test_the_change_is_smooth_over_height_and_dies_away() -> None:
    fit = _fit()
    result = set_ease(fit, change={"chest": 0.06}, levels={"chest": 0.9})
    heights = fit.base[:, 1]
    grown = np.hypot(*result.fit.base[:, [0, 2]].T) - RADIUS - CLEARANCE
    assert grown == pytest.approx(profile(heights, np.array([0.9]), np.array([grown.max()]), FADE), abs=1e-7)
    assert np.abs(grown[np.abs(heights - 0.9) > FADE]).max() < 1e-12
    halfway = 0.5 * grown.max()
    assert profile(np.array([0.9 + FADE / 2]), np.array([0.9]), np.array([grown.max()]), FADE)[0] == pytest.approx(
        halfway
    )
    assert np.array_equal(result.fit.base[:, 1], fit.base[:, 1])


def test_pleats_are_neither_ironed_nor_deepened() -> None:
    """The skin says which way is out, so the depth of a pleat stays what it was."""
    fit = _fit(pleats=0.04, clearance=0.03)
    result = set_ease(fit, change={"waist": 0.05}, levels=LEVELS)
    assert np.ptp(_radii(result.fit, 0.9)) == pytest.approx(np.ptp(_radii(fit, 0.9)), abs=1e-4)
    assert result.missed < 1e-6


def test_deltas_stay_or_are_lifted_anew() -> None:
    body, fit = phantom_body(), _fit()
    kept = set_ease(fit, change={"chest": 0.04}, levels=LEVELS).fit
    assert kept.deltas is fit.deltas
    assert kept.garment is fit.garment
    anew = set_ease(fit, change={"chest": 0.04}, levels=LEVELS, relift=True).fit
    assert np.array_equal(anew.base, kept.base)
    assert np.array_equal(anew.garment.vertices, anew.base)
    assert np.array_equal(anew.deltas, make_fit(body, anew.garment).deltas)


def test_taking_in_tells_how_near_the_skin_the_cloth_comes() -> None:
    result = set_ease(_fit(), change={"chest": -2 * np.pi * 0.015}, levels=LEVELS)
    assert result.clearance_before == pytest.approx(CLEARANCE, abs=1e-3)
    assert result.clearance_after == pytest.approx(CLEARANCE - 0.015, abs=1e-3)
    through = set_ease(_fit(), change={"chest": -2 * np.pi * 0.03}, levels=LEVELS)
    assert through.clearance_after == pytest.approx(CLEARANCE - 0.03, abs=1e-3)


def test_nothing_asked_returns_the_same_fit() -> None:
    fit = _fit()
    result = set_ease(fit, levels=LEVELS)
    assert result.fit is fit
    assert result.largest_move == result.missed == 0.0
    assert result.clearance_after == result.clearance_before


def test_wrong_levels_are_refused() -> None:
    fit = _fit()
    with pytest.raises(ArgumentError, match=r"`change` must be levels that the garment goes around: .*got 'knee'"):
        set_ease(fit, change={"knee": 0.01}, levels={"knee": 0.3} | LEVELS)
    with pytest.raises(ArgumentError, match=r"`wanted` must be levels .*: none, got 'bust'"):
        set_ease(fit, wanted={"bust": 0.1}, levels={})
    with pytest.raises(ArgumentError, match=r"`change` must be about levels without a `wanted` ease, got 'waist'"):
        set_ease(fit, wanted={"waist": 0.1}, change={"waist": 0.01}, levels=LEVELS)
    with pytest.raises(ArgumentError, match=r"`levels` must be at least 0.01 m apart, got 'chest' and 'bust'"):
        set_ease(fit, levels={"chest": 1.1, "bust": 1.105})
    with pytest.raises(ArgumentError, match=r"`fade` must be positive metres, got 0"):
        set_ease(fit, change={"waist": 0.01}, levels=LEVELS, fade=0.0)
