"""The written truth of the demo, and real bodies: which shape each garment was modelled on."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import DemoGarment, make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.fit.make import make_fit
from dressform.formats.load import load_body, load_garment
from dressform.infer.results import FINE, OTHER_BASE, OTHER_SHAPE
from dressform.infer.shape import infer_shape
from dressform.repair.rebase import rebase
from realdata import real


@pytest.fixture(scope="module")
def bodies() -> Mapping[str, Body]:
    return make_demo_bodies()


@pytest.fixture(scope="module")
def wardrobe(bodies: Mapping[str, Body]) -> dict[str, DemoGarment]:
    return make_wardrobe(bodies)


@pytest.mark.parametrize("name", [good.name for good in read_truth().good])
def test_a_good_garment_fits_the_base(name: str, bodies: Mapping[str, Body], wardrobe: dict[str, DemoGarment]) -> None:
    made = wardrobe[name]
    found = infer_shape(bodies[made.made_on], made.garment)
    assert found.verdict == FINE, found.sentence
    assert found.holds(np.zeros(len(found.weights)))


def test_the_larger_guernsey_was_cut_for_a_custom_shape(
    bodies: Mapping[str, Body], wardrobe: dict[str, DemoGarment]
) -> None:
    made, woman = wardrobe["guernsey_larger"], bodies["woman"]
    found = infer_shape(woman, made.garment, others=(bodies["man"],))
    assert (found.verdict, found.base) == (OTHER_SHAPE, "woman")
    assert found.holds(woman.weights(made.made_at))
    assert not found.holds(np.zeros(len(found.weights)))


def test_a_guernsey_tells_the_trunk_and_nothing_of_the_hands(
    bodies: Mapping[str, Body], wardrobe: dict[str, DemoGarment]
) -> None:
    found = infer_shape(bodies["woman"], wardrobe["guernsey"].garment)
    assert {"hands", "legs"} <= set(found.silent)
    assert not {"stature", "belly", "shoulders"} & set(found.silent)


def test_a_hat_that_lies_in_the_head_tells_the_body_whose_head_is_lower(
    bodies: Mapping[str, Body], wardrobe: dict[str, DemoGarment]
) -> None:
    woman, hat = bodies["woman"], wardrobe["souwester"].garment
    shorter = woman.weights({"stature": -1.0, "age": 1.0})
    found = infer_shape(woman, replace(hat, vertices=make_fit(woman, hat).at(shorter)))
    assert found.verdict == OTHER_SHAPE
    assert found.weights == pytest.approx(shorter, abs=0.1)


def test_a_skirt_says_nothing_of_what_lies_above_it(
    bodies: Mapping[str, Body], wardrobe: dict[str, DemoGarment]
) -> None:
    found = infer_shape(bodies["woman"], wardrobe["skirt"].garment)
    assert {"chest", "shoulders", "arms", "hands", "neck"} <= set(found.silent)


@pytest.mark.parametrize(("made_for", "meant_for"), [("man", "woman"), ("woman", "man")])
def test_a_guernsey_of_the_other_build_names_it(
    made_for: str, meant_for: str, bodies: Mapping[str, Body], wardrobe: dict[str, DemoGarment]
) -> None:
    garment = wardrobe["guernsey" if made_for == "woman" else "man_guernsey"].garment
    found = infer_shape(bodies[meant_for], garment, others=(bodies[made_for],))
    assert (found.verdict, found.base) == (OTHER_BASE, made_for)


@pytest.mark.parametrize(("made_for", "meant_for"), [("female", "male"), ("male", "female")])
def test_a_real_shirt_carried_to_one_real_body_names_it(made_for: str, meant_for: str) -> None:
    people = {name: load_body(real(f"bodies/mean_{name}.obj")).body for name in ("all", "female", "male")}
    mean, wearer = people["all"], people[made_for]
    shirt = load_garment(real("garments/tshirt.obj"), units="m").garment
    middle = shirt.vertices.mean(axis=0)
    worn = replace(shirt, vertices=(shirt.vertices - middle) * 1.26 + middle + np.array([0.0, -0.072, 0.036]))
    way = (mean.vertices - wearer.vertices)[None]
    carrier = Body(made_for, wearer.vertices, mean.faces, ("carry",), way, Range.unit(("carry",)))
    cloth = rebase(carrier, worn, np.ones(1)).garment
    found = infer_shape(people[meant_for], cloth, others=(wearer,))
    assert (found.verdict, found.base) == (OTHER_BASE, wearer.name)
    assert infer_shape(wearer, cloth, others=(people[meant_for],)).verdict == FINE
