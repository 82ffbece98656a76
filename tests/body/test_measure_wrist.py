"""The wrist is claimed only where the girth rises again by more than the limit."""

import numpy as np
import pytest

from dressform.body.measure_axes import WRIST_RISE, wrist_level

PALM, NARROW = 21.0, 16.0


@pytest.mark.parametrize(("rise", "found"), [(WRIST_RISE, None), (np.nextafter(WRIST_RISE, 2.0), 3)])
def test_a_rise_to_the_limit_is_no_wrist_and_a_rise_beyond_it_is(rise: float, found: int | None) -> None:
    inward = np.array([0.0, PALM, 18.0, NARROW, rise * NARROW, rise * NARROW, rise * NARROW])
    assert wrist_level(inward[::-1].copy(), np.ones(7, dtype=np.int64)) == found
