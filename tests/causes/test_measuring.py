"""What is measured one fault at a time is what a check measures all at once."""

import numpy as np
import pytest

import phantoms
from dressform.causes.ground import Ground
from dressform.causes.measuring import Measuring
from dressform.errors import ArgumentError
from dressform.faults.check import FaultCheck
from dressform.fit.make import make_fit
from dressform.garment.following import Following

SHAPE = {"belly": 1.0, "girth": 0.4, "tall": 0.5}


@pytest.fixture(scope="module")
def tight() -> tuple[Measuring, FaultCheck]:
    body, garment = phantoms.phantom_body(), phantoms.phantom_tube(clearance=0.004, sides=12)
    fit = make_fit(body, garment, Following(method="nearest"))
    return Measuring(Ground(body), fit), FaultCheck(body, fit)


@pytest.mark.parametrize("fault", ["depth", "pucker", "stretch", "clearance", "exposed"])
def test_fields_are_those_of_the_check(tight: tuple[Measuring, FaultCheck], fault: str) -> None:
    measuring, check = tight
    weights = check.body.weights(SHAPE)
    fields = check.fields(weights)
    found = measuring.field(fault, weights)
    if fault == "exposed":
        assert found.sum() == pytest.approx(check.measure(weights).show_through.exposed_area, rel=1e-12)
        assert found.sum() > 0
    else:
        expected = fields.layers["clearance_change" if fault == "clearance" else fault]
        np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-15)
        assert np.abs(found).max() > 0


def test_narrowed_to_one_shape_the_faults_are_the_same(tight: tuple[Measuring, FaultCheck]) -> None:
    measuring, check = tight
    weights = check.body.weights(SHAPE)
    narrow = measuring.ground.narrowed(weights)
    one = make_fit(narrow.body, measuring.fit.garment, Following(method="nearest"))
    np.testing.assert_allclose(
        Measuring(narrow, one).field("pucker", np.ones(1)), measuring.field("pucker", weights), atol=1e-12
    )


def test_cloth_in_the_body_at_the_base_is_as_deep_as_it_was_pushed() -> None:
    body = phantoms.phantom_body(sides=96)
    sunk = make_fit(body, phantoms.phantom_tube(clearance=-0.005, sides=96))
    depth = Measuring(Ground(body), sunk).field("depth", np.zeros(3))
    np.testing.assert_allclose(depth, 0.005, atol=2e-4)


def test_room_at_the_base_counts_from_what_was_meant() -> None:
    body = phantoms.phantom_body(sides=96)
    fit = make_fit(body, phantoms.phantom_tube(clearance=0.030, sides=96))
    meant = np.full(len(fit.base), 0.010)
    room = Measuring(Ground(body), fit, meant=meant).field("clearance", np.zeros(3))
    np.testing.assert_allclose(room, 0.020, atol=2e-4)
    assert not Measuring(Ground(body), fit).field("clearance", np.zeros(3)).any()


def test_a_fault_without_a_field_is_refused(tight: tuple[Measuring, FaultCheck]) -> None:
    with pytest.raises(ArgumentError, match=r"`fault` must be one of exposed, depth, .*got 'inside'"):
        tight[0].field("inside", np.zeros(3))
