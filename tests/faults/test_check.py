"""All faults of one shape, end to end, on bodies and garments with closed forms."""

import pickle

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.places import band_value
from dressform.faults.registry import FAULTS
from dressform.faults.results import SEVERITIES
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.mesh.geometry import face_areas
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from phantoms import GIRTH_GAIN, RADIUS, phantom_body, phantom_tube

CLEARANCE = 0.02


def follow(body, garment, *, strength=1.0):
    """Cloth that moves as the skin under it."""
    feet = closest(Tree(body.vertices, body.faces), garment.vertices)
    moved = np.einsum("gc,kgcx->kgx", feet.barycentric, body.deltas[:, body.faces[feet.faces]])
    return Fit(body, garment, DEFAULT_FOLLOWING, garment.vertices, strength * moved)


@pytest.fixture(scope="module")
def body():
    return phantom_body(rings=60, sides=72)


@pytest.fixture(scope="module")
def following(body):
    return GarmentOnBody(follow(body, phantom_tube(clearance=CLEARANCE, sides=72)))


@pytest.fixture(scope="module")
def still(body):
    """A tube that does not follow at all, so that a growing body comes through it."""
    return GarmentOnBody(follow(body, phantom_tube(clearance=CLEARANCE, sides=72), strength=0.0))


def test_the_base_body_of_a_sound_garment_is_clean(following, body):
    found = following.measure(np.zeros(3))
    assert found.severity == "clean"
    assert found.places == ()
    assert set(found.severities) == set(FAULTS)
    assert found.show_through.exposed_area == found.show_through.inside_share == found.show_through.depth_max == 0.0
    assert found.pucker.max < 1e-13
    assert found.clearance_change.p5 == found.clearance_change.p95 == 0.0


def test_cloth_that_follows_an_affine_morph_neither_puckers_nor_shows_through(following, body):
    found = following.measure(body.weights({"tall": 1.0, "girth": 1.0}))
    assert found.show_through.exposed_area == found.show_through.inside_share == 0.0
    assert found.pucker.p95 < 2e-4
    assert found.stretch.relative_p99 < 0.03


def test_a_body_that_outgrows_still_cloth_shows_through_by_the_closed_form(still, body):
    found = still.measure(body.weights({"girth": 1.0}))
    grown = GIRTH_GAIN * RADIUS
    assert found.show_through.inside_share == pytest.approx(1.0)
    assert found.show_through.depth_max == pytest.approx(grown - CLEARANCE, rel=0.01)
    assert found.show_through.exposed_share > 0.95
    assert found.severity == "grave"
    assert found.severities["exposed"] == "grave"
    assert {place.fault for place in found.places} >= {"exposed", "depth", "clearance"}
    assert found.places[0].severity == "grave"


def test_places_say_where(still, body):
    found = still.measure(body.weights({"belly": 1.0}))
    spot = next(place for place in found.places if place.fault == "exposed")
    assert spot.side == "front middle"
    assert spot.height == pytest.approx(1.0, abs=0.1)
    assert spot.part == "tube"
    assert band_value(spot) == pytest.approx(found.show_through.exposed_area)
    assert spot.position_m[2] > RADIUS


def test_the_area_of_a_depth_place_is_that_of_the_cloth_under_the_skin(still, body):
    found = still.measure(body.weights({"belly": 1.0}))
    (spot,) = [place for place in found.places if place.fault == "depth"]
    garment = still.fit.garment
    cloth_area = face_areas(garment.vertices, garment.faces).sum()
    assert spot.area == pytest.approx(found.show_through.inside_share * cloth_area, rel=0.05)


def test_a_check_can_be_sent_to_another_process(still, body):
    weights = body.weights({"belly": 0.5})
    assert pickle.loads(pickle.dumps(still)).measure(weights).show_through == still.measure(weights).show_through


def test_figures_and_fields_together_are_what_each_says_alone(still, body):
    weights = body.weights({"belly": 1.0})
    found, fields = still.both(weights)
    alone = still.measure(weights)
    assert found.show_through == alone.show_through
    assert found.severities == alone.severities
    np.testing.assert_array_equal(fields.layers["depth"], still.fields(weights).layers["depth"])


def test_fields_agree_with_the_figures(still, body):
    weights = body.weights({"belly": 1.0})
    found, fields = still.measure(weights), still.fields(weights)
    assert fields.layers["depth"].max() == pytest.approx(found.show_through.depth_max)
    assert fields.layers["pucker"].max() == pytest.approx(found.pucker.max)
    assert (fields.layers["exposed"][~fields.hidden] == 0).all()
    assert fields.layers["exposed"].max() == 1.0
    np.testing.assert_allclose(fields.body, body.at(weights))


def test_measuring_leaves_no_trace(still, body):
    weights = body.weights({"belly": 0.7})
    first = still.measure(weights)
    still.measure(body.weights({"girth": 1.0}))
    again = still.measure(weights)
    assert first.show_through == again.show_through
    assert first.pucker == again.pucker
    assert first.places == again.places


def test_severity_is_the_worst_of_all(still, body):
    found = still.measure(body.weights({"belly": 1.0}))
    assert found.severity == max(found.severities.values(), key=SEVERITIES.index)


@pytest.mark.parametrize("weights", [np.zeros(2), np.array([0.0, np.nan, 0.0])])
def test_weights_must_be_one_finite_number_per_morph(still, weights):
    with pytest.raises(ArgumentError, match="3 finite weights"):
        still.measure(weights)
