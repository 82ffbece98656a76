"""A prepared garment that follows otherwise: nothing of the old way is left, and another base is refused."""

from dataclasses import replace

import numpy as np
import pytest

import dressform as df
from dressform.errors import MatchError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.lift.lift import make_lift
from phantoms import phantom_body, phantom_tube

BODY, TUBE = phantom_body(rings=24, sides=24), phantom_tube(clearance=0.01, rings=10, sides=20)
SHAPE = np.array([1.0, 0.5, 1.0])


def rough(fit: Fit) -> Fit:
    """The same cloth with a fold that a smooth lift has not."""
    deltas = np.array(fit.deltas)
    deltas[0, ::3] *= 1.5
    return replace(fit, deltas=deltas)


def test_measures_are_those_of_the_garment_prepared_by_itself() -> None:
    """Asked before and after, so that no look of the old way is handed out."""
    fit = df.fit(BODY, TUBE)
    worn, other = GarmentOnBody(fit).prepare(), rough(fit)
    before = worn.measure(SHAPE)
    again = worn.following_as(other, make_lift(BODY, fit.garment))
    assert again.measure(SHAPE).severities == GarmentOnBody(other).measure(SHAPE).severities
    assert again.measure(SHAPE).broken == GarmentOnBody(other).measure(SHAPE).broken
    assert again.measure(SHAPE).broken.bent > 0.0
    assert worn.measure(SHAPE).severities == before.severities


def test_cloth_that_stands_elsewhere_is_refused() -> None:
    fit = df.fit(BODY, TUBE)
    moved = replace(fit, base=fit.base + 0.001)
    with pytest.raises(MatchError, match="must be of 'tube' on the same base"):
        GarmentOnBody(fit).following_as(moved, make_lift(BODY, fit.garment))
