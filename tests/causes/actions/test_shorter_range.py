"""A stiff stall on a finger that curls past a right angle: what is advised is a shorter way, and it is enough."""

from dataclasses import replace

import numpy as np
import pytest

import lift_phantoms
from dressform.body.shapes import distinct, end_shapes, shape_at_base
from dressform.causes.action import Action
from dressform.causes.actions.group import grouped
from dressform.causes.actions.make import make_actions
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.remedies.limit import LIMITS, shorten_range
from dressform.causes.results import BEYOND_EXTREMITY, BODY, Explanation
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES
from dressform.fit.make import make_fit
from dressform.sweep.results import SweepRow

CURL = 0.75
"""Share of the phantom's curl of 2.2 radians."""


@pytest.fixture(scope="module")
def told() -> tuple[ExplainedGarment, tuple[Explanation, ...], Action]:
    body = lift_phantoms.finger()
    worn = ExplainedGarment(make_fit(replace(body, deltas=CURL * body.deltas), lift_phantoms.stall()))
    shapes = distinct([shape_at_base(worn.fit.body.range), *end_shapes(worn.fit.body.range)])
    rows = [SweepRow("stall", one.label, one.weights, worn.measure(one.weights), 0.0, False) for one in shapes]
    said = explain_garment(worn, rows, key="stall")
    action = next(one for one in make_actions(worn, rows, said) if one.cause == BEYOND_EXTREMITY)
    return worn, said, action


def test_where_no_remedy_cures_a_curl_the_longest_way_that_cures_is_advised(told) -> None:
    _, _, action = told
    shorter = [one for one in action.tried if one.by == BODY]
    assert [one for one in action.offered if len(one.cured) == len(action.places)] == shorter
    assert len(shorter) == 1
    assert "let `curl` go to 50 % of the way only (`--range`)" in shorter[0].words
    assert not shorter[0].spoilt


def test_over_the_shorter_range_the_garment_is_clean_where_it_was_not(told) -> None:
    worn, said, _ = told
    group = next(one for one in grouped(worn, said) if one.cause == BEYOND_EXTREMITY)
    remedy = next(one for one in shorten_range(group, whole=True) if "50 %" in one.words)
    changed = remedy.apply()
    assert changed.box is not None
    np.testing.assert_array_equal(changed.box.high, [0.5])
    again = GarmentOnBody(changed.fit)
    places = {one.cluster.fault for one in group.explained}
    for way in (0.25, 0.5):
        found = again.measure(np.array([way]))
        assert {found.severities[fault] for fault in places} == {SEVERITIES[0]}
    assert worn.measure(np.array([1.0])).severities["stretch"] == "grave"


def test_ways_are_tried_from_the_longest_to_the_shortest() -> None:
    assert list(LIMITS) == sorted(LIMITS, reverse=True)
    assert LIMITS[-1] > 0.0
    assert LIMITS[0] < 1.0
