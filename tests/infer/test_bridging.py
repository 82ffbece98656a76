"""Cloth that bridges from one part of a body to another accuses nobody; cloth in the skin is not fine."""

from dataclasses import replace

import numpy as np
import pytest

from draped_garments import DRAPES, draped
from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.infer.bridging import without_bridges
from dressform.infer.results import FINE, OTHER_SHAPE, TIGHT
from dressform.infer.shape import infer_shape
from phantoms import phantom_body, phantom_tube


def woman() -> Body:
    return make_demo_bodies()["woman"]


def test_a_tube_bridges_nothing() -> None:
    garment = phantom_tube(clearance=0.02)
    assert without_bridges(phantom_body(), garment) is garment


def test_a_poncho_bridges_from_chest_to_arm_and_is_not_accused() -> None:
    body = woman()
    poncho = draped(body, next(drape for drape in DRAPES if drape.name == "close poncho"))
    rest = without_bridges(body, poncho)
    assert rest is not None
    assert len(rest.faces) < 0.9 * len(poncho.faces)
    assert infer_shape(body, poncho, others=[make_demo_bodies()["man"]]).verdict == FINE


def test_a_tube_with_a_fifth_of_its_cloth_in_the_skin_is_too_tight() -> None:
    body, tube = phantom_body(), phantom_tube(clearance=0.006, rings=40, sides=60)
    ahead = tube.vertices[:, 2] > 0.6 * tube.vertices[:, 2].max()
    vertices = tube.vertices.copy()
    vertices[ahead, 2] -= 0.012
    sunk = Garment.of("tube", vertices, tube.faces)
    found = infer_shape(body, sunk)
    assert found.verdict == TIGHT
    assert "% of its cloth lies in the skin" in found.sentence
    assert np.isclose(found.evidence["share of the cloth in the skin of the base"], ahead.mean(), atol=0.15)
    assert infer_shape(body, tube).verdict == FINE


@pytest.mark.parametrize(("base", "name", "tall"), [("woman", "coat", -0.7), ("man", "man_souwester", -1.0)])
def test_a_garment_made_for_a_smaller_body_is_told_though_it_is_loose_or_bridges(
    base: str, name: str, tall: float
) -> None:
    bodies = make_demo_bodies()
    body, garment = bodies[base], make_wardrobe(bodies, names=(name,))[name].garment
    shrunk = replace(garment, vertices=make_fit(body, garment).at(body.weights({"stature": tall})))
    found = infer_shape(body, shrunk)
    assert found.verdict == OTHER_SHAPE
    assert np.isclose(found.weights[body.morph_names.index("stature")], tall, atol=0.2)
