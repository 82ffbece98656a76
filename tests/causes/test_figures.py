"""The figures of a cluster are those of the place that it lies at."""

import pytest

import phantoms
from dressform.body.shapes import Shape, label_of, shape_at_base
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import TOO_FEW_VERTICES, TOO_TIGHT, Explanation
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.sweep.run import run_sweep

MARGIN = 0.002


def explained(garment: Garment, cause: str, **weights: float) -> list[Explanation]:
    """What a tube round the phantom is told to have, at the base and on another, by one cause."""
    body = phantoms.phantom_body(sides=96)
    fit, other = make_fit(body, garment, Following(margin_mm=MARGIN * 1e3)), body.weights(weights)
    shapes = [shape_at_base(body.range), Shape(label_of(body.range, other), other)]
    rows = run_sweep({"tube": fit}, {"tube": shapes}).rows
    found = [each for each in explain_garment(ExplainedGarment(fit), rows, key="tube") if each.cause == cause]
    assert found
    return found


def test_triangles_that_are_too_long_for_a_belly_lie_at_its_height_above_the_soles() -> None:
    for each in explained(phantoms.phantom_tube(clearance=0.012, sides=9), TOO_FEW_VERTICES, belly=1.0):
        low, high = each.evidence["height_low"], each.evidence["height_high"]
        assert phantoms.BELLY_HEIGHT - 2 * phantoms.BELLY_WIDTH < low < phantoms.BELLY_HEIGHT
        assert phantoms.BELLY_HEIGHT < high < phantoms.BELLY_HEIGHT + 2 * phantoms.BELLY_WIDTH


@pytest.mark.parametrize("clearance", [-0.004, -0.007])
def test_cloth_that_is_too_tight_lacks_the_margin_and_what_it_lies_deep(clearance: float) -> None:
    for each in explained(phantoms.phantom_tube(clearance=clearance, sides=96), TOO_TIGHT, girth=0.5):
        assert each.evidence["missing_clearance"] == pytest.approx(MARGIN - clearance, abs=2e-4)
