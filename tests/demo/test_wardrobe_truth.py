"""What the ground truth says is what is measured: at the base, and at the shape that shows the fault."""

from functools import cache

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.garments.guernsey import over_belly
from dressform.demo.tailor.wearer import Wearer
from dressform.demo.wardrobe import DESIGNS, make_wardrobe
from dressform.demo.wardrobe_truth import FaultyGarment, read_truth
from dressform.faults.ease import girth_ease, make_tapes
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import Bands, graded_values
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_edge_length
from dressform.mesh.nearest import closest, signed_clearance
from dressform.mesh.tree import Tree
from limbs import about

pytestmark = pytest.mark.long

TRUTH = read_truth()
FAULTS = {f"{fault.name} on {fault.body}": fault for fault in TRUTH.fault}
MARGIN = 0.002
"""Clearance that a garment should keep, metres."""


@cache
def bodies() -> dict[str, Body]:
    return {**make_demo_bodies(), "faulty": make_faulty_body()}


def garment(name: str) -> Garment:
    return make_wardrobe(make_demo_bodies(), names=(name,))[name].garment


@cache
def measured(case: str) -> tuple[ShapeFaults, ShapeFaults]:
    """The faults of a case at the base and on the shape that shows them."""
    fault = FAULTS[case]
    body = bodies()[fault.body]
    check = GarmentOnBody(make_fit(body, garment(fault.name), Following(method=fault.method)))
    return check.measure(body.weights({})), check.measure(body.weights(fault.shape))


def graded(faults: ShapeFaults) -> dict[str, str]:
    values = graded_values(faults)
    return {fault: Bands().grade(fault, value) for fault, value in values.items()}


def waist_ease(name: str) -> float:
    body, cloth = bodies()["woman"], garment(name)
    feet = closest(Tree(body.vertices, body.faces), cloth.vertices).faces
    tapes = make_tapes(body, cloth.vertices, cloth.faces, feet)
    return girth_ease(tapes, body.vertices, cloth.vertices)["waist"][0]


@pytest.mark.parametrize("case", FAULTS)
def test_the_faults_that_are_written_down_are_found_at_their_shape(case: str) -> None:
    seen = measured(case)[1]
    shown = {fault for fault, grade in graded(seen).items() if grade != "clean"}
    shown |= {place.fault for place in seen.places if place.severity != "clean"}
    assert set(FAULTS[case].wrong) <= shown


@pytest.mark.parametrize("case", FAULTS)
def test_what_should_stay_clean_stays_clean(case: str) -> None:
    grades = graded(measured(case)[1])
    assert {fault: grades[fault] for fault in FAULTS[case].stays_clean if grades[fault] != "clean"} == {}


@pytest.mark.parametrize("case", [case for case, fault in FAULTS.items() if fault.wrong])
def test_the_faults_are_found_where_the_truth_says(case: str) -> None:
    fault = FAULTS[case]
    places = [place for place in measured(case)[1].places if place.fault in fault.wrong and place.severity != "clean"]
    assert places
    worst = max(places, key=lambda place: place.area)
    assert worst.region in fault.regions
    assert fault.heights[0] <= worst.height <= fault.heights[1]


def test_the_larger_jersey_has_a_size_too_much_room_already_at_the_base() -> None:
    assert waist_ease("guernsey_larger") > waist_ease("guernsey") + 0.10
    assert dict(DESIGNS["guernsey_larger"].made_at) == FAULTS["guernsey_larger on woman"].made_at


def test_the_coarse_jersey_has_longer_edges_over_the_belly_and_nowhere_else() -> None:
    wearer = Wearer.of(bodies()["woman"])
    inside, outside = [], []
    for name in ("guernsey", "guernsey_coarse"):
        cloth = garment(name)
        length = vertex_edge_length(cloth.vertices, cloth.faces)
        belly = over_belly(wearer, cloth.vertices)
        inside.append(np.median(length[belly]))
        outside.append(np.median(length[~belly]))
    assert inside[1] > 2.2 * inside[0]
    assert outside[1] == pytest.approx(outside[0], rel=0.03)


def test_the_tight_jersey_lies_under_the_margin_and_partly_inside_the_body() -> None:
    body = bodies()["woman"]
    clearance = signed_clearance(Tree(body.vertices, body.faces), garment("guernsey_tight").vertices)[0]
    assert np.median(clearance) < MARGIN
    assert measured("guernsey_tight on woman")[0].show_through.own_inside_share > 0.1
    heights = garment("guernsey_tight").vertices[clearance < 0, 1]
    low, high = FAULTS["guernsey_tight on woman"].heights
    assert np.quantile(heights, 0.02) >= low
    assert np.quantile(heights, 0.98) <= high


@pytest.mark.parametrize("name", sorted(DESIGNS))
def test_only_the_tight_jersey_lies_in_the_skin_before_anything_moves(name: str) -> None:
    wearer = bodies()["man" if name.startswith("man_") else "woman"]
    cloth = garment(name)
    still = Fit(wearer, cloth, Following(), cloth.vertices, np.zeros((len(wearer.morph_names), *cloth.vertices.shape)))
    found = GarmentOnBody(still).at_base
    if name == "guernsey_tight":
        assert 0.15 < found.skin_area < 0.25  # both sleeves, two patches in front, two windows behind, the hem
        assert 0.2 < found.inside_share < 0.3
    else:
        assert (found.skin_area, found.inside_share, found.tucked_area) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("name", [good.name for good in TRUTH.good if good.body == "woman"])
def test_good_garments_are_clean_at_full_weight_of_every_morph_but_those_named(name: str) -> None:
    body = bodies()["woman"]
    check = GarmentOnBody(make_fit(body, garment(name)))
    good = next(one for one in TRUTH.good if one.name == name)
    for morph, high in zip(body.morph_names, body.range.high):
        if morph not in good.slight_at:
            assert check.measure(body.weights({morph: float(high)})).severity == "clean", morph


def test_the_smooth_lift_bridges_the_rim_of_the_plate() -> None:
    body = bodies()["faulty"]
    smooth = GarmentOnBody(make_fit(body, garment("guernsey"))).measure(body.weights({"patch": 1.0}))
    assert smooth.pucker.max < 0.25 * measured("guernsey on faulty")[1].pucker.max


def test_causes_are_those_that_the_glossary_knows() -> None:
    known = {
        "modelled on another shape",
        "too few vertices where the body bends",
        "the morph shifts a patch rigidly",
        "ambiguous foot",
        "beyond an extremity",
        "should not follow",
        "too tight by design",
    }
    assert {fault.cause for fault in TRUTH.fault} == known


def test_every_fault_names_shapes_within_the_range() -> None:
    for fault in TRUTH.fault:
        body = bodies()[fault.body]
        assert body.range.contains(body.weights(fault.shape))
        assert isinstance(fault, FaultyGarment)


def test_the_guernsey_shows_skin_at_bent_elbows_of_a_large_body_and_none_where_the_base_walks_or_bows() -> None:
    body = bodies()["woman"]
    worn, base = GarmentOnBody(make_fit(body, garment("guernsey"))), np.zeros(len(body.morph_names))
    assert body.skeleton is not None
    hinge = {"forearm_l": (0.0, -1.0, 0.6), "forearm_r": (0.0, 1.0, -0.6)}
    across = (1.0, 0.0, 0.0)
    elbows = about(body.skeleton, "elbows", {joint: (axis, 90.0) for joint, axis in hinge.items()})
    bow = about(body.skeleton, "bow", {"spine_1": (across, 30.0), "spine_2": (across, 20.0), "spine_3": (across, 10.0)})
    walk = about(body.skeleton, "walk", {"thigh_l": (across, -30.0), "thigh_r": (across, 25.0)})
    large = worn.measure(body.range.high, elbows)
    assert 150e-4 < large.show_through.exposed_area < 200e-4  # a rendering counts 175 cm²
    assert {one.region for one in large.places if one.severity == "grave"} <= {
        "forearm_l", "forearm_r", "upper_arm_l", "upper_arm_r",
    }  # fmt: skip
    for stance in (bow, walk, elbows):
        there = worn.measure(base, stance)
        assert there.show_through.exposed_area == 0.0
        assert there.severities["inside"] == there.severities["pucker"] == there.severities["crossing"] == "clean"
