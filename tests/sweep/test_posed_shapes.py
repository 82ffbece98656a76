"""Sliders that move joints are part of the shape: sampled, tried at their ends, searched, and told by name."""

from dataclasses import replace

import msgspec
import numpy as np
import pytest

import dressform as df
from bent_limb import bent, limb, skeleton, sleeve
from dressform.body.pose import SCALE
from dressform.body.shapes import Shape, ShapeSettings, shape_at_base, sobol_shapes
from dressform.body.stance import AS_MODELLED, Stance, carry
from dressform.body.stances.slider_ends import slider_stances
from dressform.body.stances.sliders import JointEffect, JointSlider, slid_stance
from dressform.errors import ArgumentError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.formats.results.check_csv import results_csv
from dressform.formats.results.check_json import results_json
from dressform.formats.results.check_schema import StoredResults
from dressform.jobs.check_result import CheckResult
from dressform.sweep.posed_shapes import posed_shapes, worst_ends
from dressform.sweep.results import SweepRow
from dressform.sweep.search import search_worse

BIG = JointSlider("forearm_size", (JointEffect(1, SCALE, (0.9, 1.0, 0.9), (1.6, 1.0, 1.6)),))
BEND = bent(40)


@pytest.fixture(scope="module")
def fit() -> Fit:
    """A sleeve that lags: its own ramp is shorter than the skin's, so that a thick forearm comes through it."""
    body = replace(limb(rings=25, sides=16), joint_sliders=(BIG,))
    return sleeve(body, ramp=0.02, clearance=0.004, rings=25, sides=16)


def ends() -> tuple[Stance, ...]:
    return slider_stances(skeleton(), (BIG,))[0]


def test_the_sample_has_values_of_its_own_at_every_pose_and_in_the_modelled_one(fit: Fit) -> None:
    fixed, sample = [shape_at_base(fit.body.range)], sobol_shapes(fit.body.range, 4)
    found = posed_shapes(fit, fixed, sample, [BEND, *ends()], worst=0)
    told = [(shape.label, shape.stance.pose, shape.stance.sliders.get("forearm_size", 0.0)) for shape in found
            if shape.stance is not None]  # fmt: skip
    assert told[:3] == [("base", "bent 40°", 0.0), ("base", AS_MODELLED, -1.0), ("base", AS_MODELLED, 1.0)]
    varied = {label: {value for name, _, value in told if name == label} for label, *_ in told[3:]}
    assert len(told) == 3 + 2 * 4
    assert all(len(values) == 1 for values in varied.values())
    assert len(set.union(*varied.values())) == 4
    assert {pose for _, pose, _ in told[3:]} == {"bent 40°", AS_MODELLED}


def test_without_such_sliders_the_shapes_are_those_of_the_weights_alone(fit: Fit) -> None:
    plain = replace(fit, body=replace(fit.body, joint_sliders=()))
    fixed, sample = [shape_at_base(fit.body.range)], sobol_shapes(fit.body.range, 4)
    found = posed_shapes(plain, fixed, sample, [BEND], worst=0)
    assert [shape.stance for shape in found] == [BEND] * 5
    assert worst_ends(plain, BEND) == []


def test_the_worst_end_is_that_at_which_the_forearm_fills_the_sleeve(fit: Fit) -> None:
    (shape,) = worst_ends(fit, BEND)
    assert shape.stance is not None
    assert shape.stance.sliders == {"forearm_size": 1.0}


def test_the_search_goes_from_a_clean_pose_to_the_end_at_which_most_skin_shows(fit: Fit) -> None:
    """Closed form by trying all: skin seen at both ends and at all four corners of the weights."""
    worn, base = GarmentOnBody(fit), np.zeros(2)
    row = SweepRow("", "base", base, worn.measure(base, BEND), 0.0, False, BEND)
    found = search_worse(worn, [row], [BEND])
    assert found
    corners = [np.array([a, b], dtype=float) for a in (0, 1) for b in (0, 1)]
    stances = [BEND, *(slid_stance(BEND, skeleton(), (BIG,), {"forearm_size": end}) for end in (-1.0, 1.0))]
    most = max(worn.measure(one, there).show_through.exposed_area for one in corners for there in stances)
    assert most > 1e-4
    assert max(one.faults.show_through.exposed_area for one in found) >= 0.95 * most


@pytest.fixture(scope="module")
def result(fit: Fit) -> CheckResult:
    few = ShapeSettings(ends=False, strongest=0, sobol=2)
    return df.check(fit, shapes=few, stances=[BEND, *ends()], causes=False)


def test_results_tables_and_files_name_the_values_among_the_weights(result: CheckResult) -> None:
    told = msgspec.json.decode(results_json(result.report), type=StoredResults)
    assert told.body.joint_sliders == {"forearm_size": (-1.0, 1.0)}
    stances = {one.name: one for one in told.garments[0].stances}
    assert set(stances) == {"bent 40°", AS_MODELLED}
    assert stances["bent 40°"].shapes[0].joints == {"forearm_size": 1.0}
    assert not told.garments[0].shapes[0].joints
    assert "forearm_size=1" in str(result)
    assert "forearm_size=1" in results_csv(result.report)


def test_body_and_fit_take_the_values_by_name_morphs_first_then_joints(fit: Fit) -> None:
    assert fit.skin is not None
    assert fit.body.skin is not None
    there = slid_stance(Stance("", skeleton().world()), skeleton(), (BIG,), {"forearm_size": 0.5})
    named = {"girth": 0.8, "forearm_size": 0.5}
    for one, skin in ((fit, fit.skin), (fit.body, fit.body.skin)):
        meant = carry(there.maps(skin, skeleton()), one.at({"girth": 0.8}))
        assert np.abs(one.at(named) - meant).max() < 1e-12
    with pytest.raises(ArgumentError, match="names of morphs or sliders that move joints: girth, bulge, forearm_size"):
        fit.at({"forearm_len": 1})


def test_a_shape_in_the_modelled_pose_keeps_its_label(fit: Fit) -> None:
    shape = Shape("base", np.zeros(2), ends()[1])
    assert shape.stance is not None
    assert shape.stance.name == "forearm_size high"


def test_causes_are_sought_as_the_body_stood_with_its_sliders(fit: Fit) -> None:
    few = ShapeSettings(ends=False, strongest=0, sobol=0)
    explained = df.check(fit, shapes=few, stances=[BEND], causes=True).causes
    assert explained is not None
    worst = [one.cluster.worst for found in explained.of_garment.values() for one in found]
    stood = [one for one in worst if one.stance is not None and one.stance.sliders]
    assert stood
    worn = GarmentOnBody(fit)
    for one in stood[:2]:
        assert one.place in worn.measure(one.weights, one.stance).places
