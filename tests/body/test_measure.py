"""Tape measures against closed forms, against a body measured by others, and against how they must change."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import ConvexHull

import phantom
from dressform.body.body import Body
from dressform.body.measure import MEASURE_NAMES, Measurer, Measures
from dressform.body.measure_tape import Tape
from dressform.body.range import Range
from dressform.errors import ArgumentError
from measured import base_measures, values
from phantom import Phantom, trunk_girth

pytestmark = pytest.mark.long

pytestmark = pytest.mark.long

HEIGHT_TOLERANCE = 0.008
TRUNK = ("full bust", "bust", "under-bust", "waist", "hip")
CIRCLE = 2 * np.pi


@pytest.fixture(scope="module")
def jointed() -> Measures:
    return base_measures(Phantom().body_with_joints)


def test_every_girth_of_the_phantom_is_its_closed_form(jointed: Measures) -> None:
    wrist = phantom.arm_radius(np.linspace(0.4, 0.6, 2001)).min()
    middle = phantom.leg_radius(np.array((phantom.CROTCH + phantom.KNEE) / 2))
    calf = phantom.leg_radius(np.linspace(0.3, 0.4, 2001)).max()
    expected = {
        "stature": phantom.CROWN,
        "neck": CIRCLE * 0.055,
        "full bust": trunk_girth(phantom.BUST),
        "bust": trunk_girth(phantom.BUST),
        "waist": trunk_girth(phantom.WAIST),
        "hip": trunk_girth(phantom.HIP),
        "mid-thigh": CIRCLE * middle,
        "calf": CIRCLE * calf,
        "upper arm": CIRCLE * phantom.arm_radius(np.array(phantom.ELBOW_AT / 2)),
        "wrist": CIRCLE * wrist,
        "inside leg": phantom.CROTCH,
    }
    taken = values(jointed)
    for name, value in expected.items():
        assert taken[name] == pytest.approx(value, rel=4e-3), name


def test_girths_of_the_trunk_are_those_of_the_ellipse_at_their_own_height(jointed: Measures) -> None:
    for name in (*TRUNK, "chest"):
        row = jointed.named(name)
        assert row.value is not None
        assert row.height is not None
        assert row.value == pytest.approx(trunk_girth(row.height), rel=2e-3), name


def test_the_thigh_is_the_circle_just_below_where_leg_and_seat_meet(jointed: Measures) -> None:
    row = jointed.named("thigh")
    assert row.height is not None
    assert phantom.CROTCH - 0.02 < row.height < phantom.CROTCH - 0.004
    assert row.value == pytest.approx(CIRCLE * phantom.leg_radius(np.array(row.height)), rel=3e-3)


def test_levels_that_the_surface_defines_are_found(jointed: Measures) -> None:
    expected = {"hip": phantom.HIP, "waist": phantom.WAIST, "bust": phantom.BUST, "neck": phantom.NECK, "calf": 0.35}
    for name, height in expected.items():
        assert jointed.named(name).height == pytest.approx(height, abs=HEIGHT_TOLERANCE), name


def test_the_tape_under_the_bust_lies_between_waist_and_bust_where_the_girth_begins_to_rise(jointed: Measures) -> None:
    row = jointed.named("under-bust")
    assert row.height is not None
    assert phantom.WAIST < row.height < 0.5 * (phantom.WAIST + phantom.BUST)


@pytest.mark.parametrize("drop", [0.0, 65.0])
def test_the_pose_of_the_arms_changes_no_measure(jointed: Measures, drop: float) -> None:
    posed = base_measures(Phantom(drop=drop).body_with_joints)
    for name in set(MEASURE_NAMES) - {"chest"}:
        assert values(posed)[name] == pytest.approx(values(jointed)[name], rel=8e-3), name


def test_a_leaning_neck_is_measured_across_its_own_axis() -> None:
    assert values(base_measures(Phantom(lean=20.0).body))["neck"] == pytest.approx(CIRCLE * 0.055, rel=4e-3)


def test_a_coarser_mesh_falls_short_by_the_square_of_its_edges() -> None:
    levels = np.linspace(1.0, 1.12, 41)
    exact = np.array([trunk_girth(level) for level in levels])
    errors = []
    for cell in (0.012, 0.024):
        body = Phantom(cell=cell).body
        tape = Tape(Measurer(body).landmarks, body.vertices)
        errors.append(float(np.mean(1 - tape.trunk(levels) / exact)))
    assert 0 < errors[0] < 1e-3
    assert errors[1] / errors[0] == pytest.approx(4, rel=0.5)


def test_a_body_one_tenth_larger_measures_one_tenth_more() -> None:
    measurer = Measurer(Phantom().body_with_joints)
    small, large = values(measurer.measure(np.zeros(1))), values(measurer.measure(np.ones(1)))
    assert set(small) == set(large) == set(MEASURE_NAMES)
    for name in MEASURE_NAMES:
        assert large[name] == pytest.approx(1.1 * small[name], rel=1e-9), name


def test_measures_do_not_depend_on_where_the_body_stands(jointed: Measures) -> None:
    body = Phantom().body_with_joints
    skeleton = body.skeleton
    assert skeleton is not None
    rest = skeleton.rest.copy()
    step = np.array([0.4, -1.1, 0.7])
    rest[0, :3, 3] += step
    moved = replace(
        body,
        vertices=body.vertices + step,
        skeleton=replace(skeleton, rest=rest, inverse_bind=skeleton.rest),
    )
    for name, value in values(base_measures(moved)).items():
        assert value == pytest.approx(values(jointed)[name], rel=1e-6), name


def test_a_morph_of_the_belly_changes_the_waist_and_nothing_below_the_crotch() -> None:
    body = Phantom().body_with_joints
    y = body.vertices[:, 1]
    bump = (
        np.exp(-(((y - phantom.WAIST) / 0.05) ** 2)) * (body.vertices[:, 2] > 0) * (np.abs(body.vertices[:, 0]) < 0.2)
    )
    belly = np.zeros((1, *body.vertices.shape))
    belly[0, :, 2] = 0.08 * bump
    morphed = replace(body, morph_names=("belly",), deltas=belly, range=Range.unit(("belly",)))
    measurer = Measurer(morphed)
    before, after = values(measurer.measure(np.zeros(1))), values(measurer.measure(np.ones(1)))
    assert after["waist"] > before["waist"] + 0.06
    for name in ("stature", "neck", "thigh", "mid-thigh", "calf", "wrist", "inside leg", "bust"):
        assert after[name] == pytest.approx(before[name], rel=1e-3), name


def test_a_measure_that_cannot_be_taken_says_why_and_the_others_are_taken() -> None:
    measures = base_measures(Phantom(arms=False).body)
    for name in ("chest", "bust", "waist", "wrist", "upper arm"):
        row = measures.named(name)
        assert row.value is None
        assert row.height is None
        assert "no arm leaves" in row.note
    assert measures.named("mid-thigh").note == "the body has no knee joint"
    assert set(values(measures)) == {"stature", "inside leg", "thigh", "calf"}
    assert measures.named("thigh").note == "right; below the crotch, as the base body has no fold below the buttock"


def test_a_stick_has_a_stature_and_nothing_else() -> None:
    corners = np.array([[x, y, z] for x in (-0.1, 0.1) for y in (0.0, 1.5) for z in (-0.1, 0.1)])
    faces = ConvexHull(corners).simplices.astype(np.int64)
    measures = base_measures(Body("box", corners, faces, (), np.zeros((0, 8, 3)), Range.unit(())))
    assert values(measures) == {"stature": pytest.approx(1.5, abs=1e-12)}


def test_a_trunk_that_does_not_narrow_has_no_waist(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(phantom, "half_width", lambda y: 0.17 - 0.06 * (y - phantom.CROTCH))
    monkeypatch.setattr(phantom, "half_depth", lambda y: 0.12 - 0.04 * (y - phantom.CROTCH))
    measures = base_measures(Phantom().cut_mesh())
    assert "does not narrow" in measures.named("waist").note
    assert measures.named("waist").value is None
    for name in ("under-bust", "bust", "full bust"):
        assert measures.named(name).value is None
        assert "does not narrow" in measures.named(name).note
    assert measures.named("thigh").value is not None


def test_a_chest_that_rises_up_to_the_armpits_has_a_full_bust_but_no_bust_points(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(phantom, "half_width", lambda y: 0.13 + 0.9 * (y - phantom.WAIST) ** 2)
    monkeypatch.setattr(phantom, "half_depth", lambda y: 0.09 + 0.9 * (y - phantom.WAIST) ** 2)
    measures = base_measures(Phantom().cut_mesh())
    assert measures.named("bust").value is None
    assert "no crest" in measures.named("bust").note
    full = measures.named("full bust")
    assert full.height is not None
    assert full.value == pytest.approx(trunk_girth(full.height), rel=3e-3)
    assert full.height == pytest.approx(measures.named("chest").height, abs=0.01)
    assert "no crest" in full.note


def test_a_belly_that_reaches_up_to_the_bust_leaves_no_full_bust_rather_than_the_under_bust_twice() -> None:
    body = Phantom().body_with_joints
    x, y, z = body.vertices.T
    share = np.where(np.abs(x) < 0.25, np.clip((phantom.BUST + 0.02 - y) / 0.1, 0.0, 3.0), 0.0)
    grown = replace(
        body,
        morph_names=("belly",),
        deltas=(share[:, None] * np.column_stack([x, 0.0 * y, z]))[None],
        range=Range.unit(("belly",)),
    )
    measurer = Measurer(grown)
    lean, stout = (measurer.measure(np.array([weight])) for weight in (0.0, 1.0))
    assert lean.named("full bust").value == pytest.approx(trunk_girth(phantom.BUST), rel=4e-3)
    assert stout.named("full bust").value is None
    assert "largest at the under-bust line" in stout.named("full bust").note
    assert stout.named("under-bust").value is not None


def test_weights_outside_the_range_are_measured_and_told_and_absurd_ones_refused() -> None:
    measurer = Measurer(Phantom().body)
    assert measurer.measure(np.ones(1)).notes == ()
    beyond = measurer.measure(np.array([2.0]))
    assert beyond.named("stature").value == pytest.approx(1.2 * phantom.CROWN, abs=2e-3)
    assert "grow=2 lies outside the range [0, 1]" in beyond.notes[0]
    for weight in (99.0, np.nan):
        with pytest.raises(ArgumentError, match="`weights` must be between -10 and 11 for grow"):
            measurer.measure(np.array([weight]))
        with pytest.raises(ArgumentError, match="`weights` must be between"):
            measurer.taken(("stature",), np.array([weight]))


def test_an_unknown_name_lists_the_measures(jointed: Measures) -> None:
    with pytest.raises(ArgumentError, match=r"one of stature, neck, chest.*got 'girth'"):
        jointed.named("girth")
