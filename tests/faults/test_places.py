import numpy as np
import pytest

from dressform.faults.fault import spread
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.places import band_value, find_places, make_surface, negated, region_names
from dressform.faults.severity import Bands
from dressform.mesh.geometry import vertex_areas
from fault_meshes import icosphere, make_body, make_fit, sheet

BANDS = Bands(depth=(0.001, 0.002, 0.004), exposed=(1e-4, 2e-3, 1.0))


@pytest.fixture(scope="module")
def cloth():
    vertices, faces = sheet(1.0, count=20, height=1.0)
    regions = np.where(vertices[:, 0] > 0, "arm", "trunk")
    surface = make_surface(faces, regions, np.full(441, "front"), vertices, np.tile([0.0, 0.0, 1.0], (441, 1)))
    return vertices, surface, vertex_areas(vertices, faces)


def places(cloth, fault, values):
    vertices, surface, areas = cloth
    return find_places(surface, fault, values, bands=BANDS, points=vertices, areas=areas, floor=0.4)


def near(vertices, x, z, radius):
    return np.hypot(vertices[:, 0] - x, vertices[:, 2] - z) < radius


def test_separate_spots_are_separate_places_the_worst_first(cloth):
    vertices, _, areas = cloth
    values = np.zeros(len(vertices))
    left, right = near(vertices, 0.3, 0.0, 0.12), near(vertices, -0.3, 0.1, 0.08)
    values[left], values[right] = 0.0015, 0.003
    first, second = places(cloth, "depth", values)
    assert (first.severity, second.severity) == ("moderate", "slight")
    assert (first.side, second.side) == ("front right", "front left")
    assert (first.region, second.region) == ("trunk", "arm")
    assert first.area == pytest.approx(areas[right].sum(), rel=1e-6)
    assert second.area == pytest.approx(areas[left].sum(), rel=1e-6)
    assert first.height == pytest.approx(0.6)
    assert (first.value, first.unit) == (3.0, "mm")
    assert band_value(first) == 0.003


def test_the_worst_vertex_stands_for_a_spot(cloth):
    vertices, _, _ = cloth
    values = np.maximum(0.005 - 0.02 * np.hypot(vertices[:, 0] - 0.2, vertices[:, 2]), 0.0)
    (spot,) = places(cloth, "depth", values)
    assert spot.vertex == int(values.argmax())
    assert spot.position_m == pytest.approx(tuple(vertices[spot.vertex]))


def test_clean_vertices_belong_to_no_place(cloth):
    assert places(cloth, "depth", np.full(441, 0.0009)) == ()


def test_summed_spots_are_worth_their_sum_and_stand_in_their_middle(cloth):
    vertices, _, areas = cloth
    spot = near(vertices, -0.25, 0.0, 0.11)
    (found,) = places(cloth, "exposed", np.where(spot, areas, 0.0))
    assert found.value == pytest.approx(1e4 * areas[spot].sum(), rel=1e-6)
    np.testing.assert_allclose(found.position_m, (-0.25, 1.0, 0.0), atol=1e-9)


def test_a_summed_fault_names_its_largest_spot_even_if_it_is_clean_alone(cloth):
    vertices, _, _ = cloth
    values = np.where(near(vertices, 0.3, 0.0, 0.01), 5e-5, 0.0) + np.where(near(vertices, -0.3, 0.0, 0.01), 6e-5, 0.0)
    (found,) = places(cloth, "exposed", values)
    assert found.value == pytest.approx(0.6)
    assert found.severity == "clean"


def test_no_more_than_six_spots_are_named(cloth):
    values = np.zeros((21, 21))
    values[::3, ::3] = 0.0015
    assert len(places(cloth, "depth", values.ravel())) == 6


def test_negated_places_say_that_cloth_came_nearer(cloth):
    (spot,) = places(cloth, "depth", np.full(441, 0.0015))
    assert negated((spot,))[0].value == -1.5


def test_sides_are_those_of_the_wearer():
    vertices, faces = icosphere(0.3, level=2)
    unnamed = np.full(len(vertices), "")
    surface = make_surface(faces, unnamed, unnamed, vertices, vertices / 0.3)
    assert surface.sides[int(vertices[:, 2].argmax())] == "front middle"
    assert surface.sides[int((vertices[:, 0] - vertices[:, 2]).argmax())] == "back left"
    assert surface.sides[int((vertices[:, 2] - vertices[:, 0]).argmax())] == "front right"


def test_a_vertex_has_the_smallest_region_that_holds_it():
    vertices = np.stack([np.arange(5.0), np.zeros(5), np.zeros(5)], axis=1)
    regions = {"arm": vertices[:, 0] < 4, "hand": vertices[:, 0] < 2}
    assert region_names(vertices, regions).tolist() == ["hand", "hand", "arm", "arm", "arm"]


def test_a_body_without_regions_has_none():
    assert region_names(np.zeros((2, 3)), {}).tolist() == ["", ""]


def test_spread_adds_up_to_the_number_of_rows():
    found = spread(np.array([[0, 1, 2], [2, 3, 4]]), 6)
    assert found.sum() == pytest.approx(2.0)
    assert found[2] == pytest.approx(2 / 3)
    assert spread(np.zeros((0, 3), dtype=np.int64), 4).tolist() == [0.0] * 4


def test_a_place_is_no_graver_than_its_garment():
    """Less than 1 % of the cloth is stretched to twice its length: graded is what 1 % reaches, in the place as well."""
    vertices, faces = sheet(0.6, count=40, height=0.32)
    skin, triangles = icosphere(0.3, level=3)
    away = np.exp(-((vertices[:, 0] / 0.02) ** 2) - (vertices[:, 2] / 0.04) ** 2)
    pull = 0.02 * (away * np.sign(vertices[:, 0]))[:, None] * np.array([1.0, 0.0, 0.0])
    worn = GarmentOnBody(make_fit(vertices, faces, make_body(skin, triangles, still=np.zeros(3)), still=pull))
    found = worn.measure(np.ones(1))
    local = worn.field("stretch", np.ones(1))
    assert (found.severities["stretch"], worn.bands.grade("stretch", float(local.max()))) == ("moderate", "grave")
    stretched = [place for place in found.places if place.fault == "stretch"]
    assert {place.severity for place in stretched} == {"moderate"}
    assert max(band_value(place) for place in stretched) == pytest.approx(found.stretch.relative_p99, rel=1e-6)
    assert local[stretched[0].vertex] == local.max()
