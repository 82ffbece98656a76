"""From a tape back to a shape, on a person whose girths grow by known factors."""

from dataclasses import replace

import numpy as np
import pytest

import phantom
from dressform.body.body import Body
from dressform.body.measure import Measurer
from dressform.body.range import Range
from dressform.body.tape_fit import MET, fit_tape
from dressform.errors import ArgumentError
from phantom import Phantom

WIDTH = 0.07
GAIN = 0.2
TWINS = ("waist", "hips", "waist again")


def swelling(body: Body, height: float) -> np.ndarray:
    """The trunk grows sideways and in depth round one height, by `GAIN` at its middle."""
    x, y, z = body.vertices.T
    trunk = np.clip((0.24 - np.abs(x)) / 0.04, 0, 1)
    level = GAIN * np.exp(-(((y - height) / WIDTH) ** 2)) * trunk
    return np.stack([level * x, np.zeros_like(y), level * z], axis=1)


@pytest.fixture(scope="module")
def measurer() -> Measurer:
    body = Phantom().body_with_joints
    deltas = np.stack([swelling(body, height) for height in (phantom.WAIST, phantom.HIP, phantom.WAIST)])
    box = Range(TWINS, np.array([-0.5, -0.5, -0.5]), np.array([1.0, 1.0, 1.0]))
    return Measurer(replace(body, morph_names=TWINS, deltas=deltas, range=box))


def read(measurer: Measurer, weights: np.ndarray, *names: str) -> dict[str, float]:
    return {row.name: row.value for row in measurer.taken(names, weights)}


@pytest.mark.parametrize("weights", [(0.3, 0.7, 0.3), (-0.4, 0.2, -0.2), (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)])
def test_measures_of_a_shape_lead_back_to_shapes_that_measure_the_same(measurer, weights):
    targets = read(measurer, np.array(weights), "waist", "hip")
    found = fit_tape(measurer, targets)
    assert found.met
    for name, value in read(measurer, found.weights, "waist", "hip").items():
        assert value == pytest.approx(targets[name], abs=2e-4), name


def test_the_waist_of_a_grown_trunk_is_found_by_its_closed_form(measurer):
    girth = read(measurer, np.zeros(3), "waist")["waist"]
    found = fit_tape(measurer, {"waist": 1.12 * girth})
    # Both morphs of the waist scale its section by 1 + GAIN w: 0.12 = 0.2 (w + w).
    assert found.weights[0] + found.weights[2] == pytest.approx(0.6, abs=0.02)


def test_of_two_sliders_that_do_the_same_each_takes_half(measurer):
    girth = read(measurer, np.zeros(3), "waist")["waist"]
    found = fit_tape(measurer, {"waist": 1.12 * girth})
    assert found.weights[0] == pytest.approx(found.weights[2], abs=1e-9)


def test_what_the_base_measures_is_met_by_the_base(measurer):
    found = fit_tape(measurer, read(measurer, np.zeros(3), "waist", "hip"))
    np.testing.assert_allclose(found.weights, 0.0, atol=1e-9)
    assert [row.missed for row in found.rows] == [0.0, 0.0]


def test_what_cannot_be_reached_is_missed_at_the_end_of_the_range_and_said(measurer):
    widest = read(measurer, np.ones(3), "waist")["waist"]
    found = fit_tape(measurer, {"waist": widest + 0.25})
    row = found.rows[0]
    assert not found.met
    assert not row.met
    assert row.missed == pytest.approx(-0.25, abs=2 * MET)
    assert found.weights[0] == pytest.approx(1.0, abs=1e-9)
    assert measurer.body.range.contains(found.weights)


def test_rows_come_in_the_order_of_the_measures_whatever_was_asked_first(measurer):
    found = fit_tape(measurer, {"hip": 0.95, "stature": 1.7, "waist": 0.72})
    assert [row.name for row in found.rows] == ["stature", "waist", "hip"]


def test_progress_counts_the_rounds(measurer):
    told = []
    found = fit_tape(measurer, {"waist": 0.75}, progress=lambda done, of: told.append((done, of)))
    assert [done for done, _ in told] == list(range(1, found.rounds + 1))


def test_an_unknown_measure_is_refused_and_the_known_ones_listed(measurer):
    with pytest.raises(ArgumentError, match=r"among stature, neck, .*, got 'sleeve'"):
        fit_tape(measurer, {"sleeve": 0.6})


def test_no_measure_at_all_is_refused(measurer):
    with pytest.raises(ArgumentError, match="`targets` must be at least one measure"):
        fit_tape(measurer, {})


@pytest.mark.parametrize("value", [0.0, -0.8, float("nan"), float("inf")])
def test_a_girth_that_no_tape_reads_is_refused(measurer, value):
    with pytest.raises(ArgumentError, match="`waist` must be positive metres"):
        fit_tape(measurer, {"waist": value})


def test_a_measure_that_this_body_does_not_have_is_left_out_with_the_reason(measurer):
    body = measurer.body
    cut = body.vertices[:, 1] > phantom.CROTCH + 0.02
    faces = body.faces[cut[body.faces].all(axis=1)]
    used, numbered = np.unique(faces, return_inverse=True)
    legless = replace(
        body,
        vertices=body.vertices[used],
        faces=numbered.reshape(-1, 3),
        deltas=body.deltas[:, used],
        skin=None,
        regions={},
    )
    height = float(np.ptp(legless.vertices[:, 1]))
    found = fit_tape(Measurer(legless), {"stature": height, "inside leg": 0.8})
    first, last = found.rows
    assert (first.name, first.met) == ("stature", True)
    assert (last.name, last.got, last.missed, last.met) == ("inside leg", None, None, False)
    assert last.note
    assert not found.met


def test_a_name_that_is_no_measure_is_not_taken(measurer):
    with pytest.raises(ArgumentError, match="`names` must be among stature"):
        measurer.taken(["sleeve"], np.zeros(3))
