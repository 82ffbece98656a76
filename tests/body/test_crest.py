"""The crest of a profile: the middle of what stands out farthest, wherever the levels of the search lie."""

import numpy as np
import pytest

from dressform.body.measure import Measurer
from dressform.body.measure_tape import Tape, middle_of_crest
from phantom import BUST, HIP, Phantom

LEVELS = np.linspace(1.0, 1.1, 31)
DEPTH = 0.0008


@pytest.mark.parametrize("top", [1.0463, 1.05, 1.0537])
def test_the_crest_of_a_parabola_is_its_top_between_the_levels(top: float) -> None:
    found = middle_of_crest(LEVELS, 0.3 - 4.0 * (LEVELS - top) ** 2, DEPTH)
    assert found == pytest.approx(top, abs=2e-4)


def test_the_crest_of_a_flat_stretch_is_its_middle() -> None:
    """Flat from 1.02 to 1.08, then falling steeply below and gently above: where it is `DEPTH` less is known."""
    profile = 0.3 - np.maximum(0, 1.02 - LEVELS) * 2.0 - np.maximum(0, LEVELS - 1.08) * 0.5
    middle = (1.02 - DEPTH / 2.0 + 1.08 + DEPTH / 0.5) / 2
    assert middle_of_crest(LEVELS, profile, DEPTH) == pytest.approx(middle, abs=2e-4)


def test_a_second_crest_that_is_farther_behind_does_not_count() -> None:
    profile = 0.3 - 4.0 * np.minimum((LEVELS - 1.03) ** 2, (LEVELS - 1.08) ** 2 + 0.0005)
    assert middle_of_crest(LEVELS, profile, DEPTH) == pytest.approx(1.03, abs=2e-4)


def test_levels_without_an_outline_end_the_stretch() -> None:
    profile = np.where(LEVELS > 1.04, 0.3, -np.inf)
    assert middle_of_crest(LEVELS, profile, DEPTH) == pytest.approx((LEVELS[LEVELS > 1.04][0] + 1.1) / 2)


def test_bust_and_seat_of_the_phantom_have_their_crests_where_its_trunk_is_deepest() -> None:
    body = Phantom().body
    landmarks = Measurer(body).landmarks
    tape = Tape(landmarks, body.vertices)
    assert tape.crest(landmarks.bust, 1.0) == pytest.approx(BUST, abs=0.004)
    assert tape.crest(landmarks.seat, -1.0) == pytest.approx(HIP, abs=0.004)
