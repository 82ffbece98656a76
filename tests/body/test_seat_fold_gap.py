"""A gap between two parts of a leg is no fold below the buttock."""

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.measure import Measurer
from dressform.body.range import Range
from phantom import CROTCH, Phantom


def thigh(body: Body, kept: np.ndarray) -> tuple[float, str]:
    """Height and note of the thigh of some triangles of a body."""
    used, corners = np.unique(body.faces[kept], return_inverse=True)
    points = body.vertices[used]
    part = Body("part", points, corners.reshape(-1, 3), (), np.zeros((0, *points.shape)), Range.unit(()))
    found = Measurer(part).measure(np.zeros(0)).named("thigh")
    return found.height, found.note


@pytest.mark.parametrize("below", [0.03, 0.05])
def test_where_a_band_of_the_leg_is_missing_the_fold_below_the_buttock_stays_where_it_is(below: float) -> None:
    body = Phantom().body
    heights = body.vertices[body.faces].mean(axis=1)[:, 1]
    whole = np.ones(len(heights), dtype=bool)
    gap = (heights > CROTCH - below - 0.015) & (heights < CROTCH - below)
    height, note = thigh(body, ~gap)
    expected, told = thigh(body, whole)
    assert height == pytest.approx(expected, abs=0.002)
    assert note == told
