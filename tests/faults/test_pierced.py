"""Layers that pierce each other: closed forms on tubes about the capsule, and which garment is worn over which."""

import numpy as np
import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.jobs.check import check, check_outfit
from dressform.repair.layers import repair_outfit
from fault_meshes import icosphere, make_body
from phantoms import MORPHS, RADIUS, phantom_body, tube

ZERO = np.zeros(len(MORPHS))
BODY = phantom_body(rings=30, sides=32)


def still(garment: Garment) -> Fit:
    """A garment that stays where it is."""
    return Fit(BODY, garment, DEFAULT_FOLLOWING, garment.vertices, np.zeros((3, *garment.vertices.shape)))


def shell(clearance: float, *, name: str = "shell", bottom: float = 0.6, top: float = 1.3) -> Garment:
    return Garment.of(name, *tube(clearance=clearance, bottom=bottom, top=top, rings=36, sides=60))


def bump(height: float, *, clearance: float = 0.01) -> Garment:
    """A tube with a round bump in front."""
    vertices, faces = tube(clearance=clearance, rings=90, sides=150)
    ahead = np.exp(-(((vertices - [0.0, 0.95, RADIUS + clearance]) / 0.05) ** 2).sum(axis=1))
    out = vertices * [1.0, 0.0, 1.0]
    out = out / np.linalg.norm(out, axis=1, keepdims=True)
    return Garment.of("bump", vertices + height * ahead[:, None] * out, faces)


def pierced(outer: Garment, *inner: Garment) -> float:
    return GarmentOnBody(still(outer), under=[still(one) for one in inner]).measure(ZERO).broken.pierced_area


def test_layers_in_order_do_not_pierce_each_other():
    assert pierced(shell(0.02), shell(0.01)) == 0.0


def test_a_layer_wholly_outside_the_one_over_it_comes_through_with_all_its_area():
    inner = shell(0.02, bottom=0.7, top=1.2)
    found = pierced(shell(0.01), inner)
    assert found == pytest.approx(2 * np.pi * (RADIUS + 0.02) * 0.5, rel=0.02)


def test_what_hangs_out_under_a_hem_is_not_counted():
    assert pierced(shell(0.02, bottom=0.9, top=1.2), shell(0.01, bottom=0.6, top=1.3)) == 0.0


def test_a_bump_comes_through_where_it_is_higher_than_the_gap():
    gap, height = 0.01, 0.02
    radius = 0.05 * np.sqrt(np.log(height / gap))
    found = pierced(shell(0.02), bump(height))
    assert found == pytest.approx(np.pi * radius**2, rel=0.15)
    assert pierced(shell(0.02), bump(0.9 * gap)) == 0.0


def test_cloth_far_in_front_of_another_belongs_to_no_layer_under_it():
    assert pierced(shell(0.01), shell(0.05)) == 0.0


def test_it_is_graded_with_its_place_at_the_base_too():
    outer = GarmentOnBody(still(shell(0.02, name="over")), under=[still(bump(0.02))])
    found = outer.measure(ZERO)
    assert found.severities["pierced"] == "grave"
    (place,) = [one for one in found.places if one.fault == "pierced"]
    assert np.array(place.position_m) == pytest.approx([0.0, 0.95, RADIUS + 0.02], abs=0.03)
    assert place.value == pytest.approx(found.broken.pierced_area * 1e4)


def test_the_same_garment_over_others_keeps_what_is_prepared():
    alone = GarmentOnBody(still(shell(0.02)))
    through = alone.through
    over = alone.over([still(bump(0.02))])
    assert over.through is through
    assert over.measure(ZERO).broken.pierced_area > 0.0 == alone.measure(ZERO).broken.pierced_area


def test_the_garment_that_is_worn_over_the_other_is_told_from_both():
    inner, outer = GarmentOnBody(still(bump(0.02))), GarmentOnBody(still(shell(0.02)))
    assert outer.lies_over(inner)
    assert not inner.lies_over(outer)


def test_garments_that_do_not_meet_are_no_layers():
    low, high = (GarmentOnBody(still(shell(0.01, bottom=low, top=low + 0.2))) for low in (0.5, 1.0))
    assert not low.lies_over(high)
    assert not high.lies_over(low)


def test_an_outfit_is_faulty_where_layers_pierce_each_other_and_says_where_why_and_what_to_do():
    fits = [still(bump(0.02)), still(shell(0.02, name="over"))]
    apart = check(fits, shapes=0, causes=False)
    together = check_outfit(fits, shapes=0)
    grades = {one.name: one.severity for one in together.report.garments}
    assert grades["over"] == "grave"
    rows = [row.faults.broken.pierced_area for row in apart.report.garments[1].rows]
    assert max(rows) == 0.0
    text = " ".join(str(together).split())
    for words in ("Worn together", "layer below comes through", "as modelled", "`dressform outfit`"):
        assert words in text


def test_following_the_advice_takes_the_fault_away():
    vertices, faces = icosphere(0.2, level=3)
    body = make_body(vertices, faces, rise=0.05 * vertices)
    inner, outer = (Garment.of(name, (1.0 + gap) * vertices, faces) for name, gap in (("in", 0.05), ("out", 0.08)))
    fits = [
        Fit(body, inner, DEFAULT_FOLLOWING, inner.vertices, 0.10 * vertices[None]),
        Fit(body, outer, DEFAULT_FOLLOWING, outer.vertices, 0.05 * vertices[None]),
    ]
    assert check_outfit(fits, shapes=0).report.garments[1].severity == "grave"
    mended = [layer.fit for layer in repair_outfit(fits)]
    again = check_outfit(mended, shapes=0).report.garments[1]
    assert max(row.faults.broken.pierced_area for row in again.rows) == 0.0
