"""Skin in front and cloth in the body at the base, against closed forms on a sphere."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.skin.cloth_at_base import MOST_TUCKED
from dressform.faults.skin.tucked_rims import TUCK
from fault_meshes import icosphere, make_body, make_fit, pipe, sheet, turned

pytestmark = pytest.mark.long

RADIUS = 0.2
SPHERE = 4 * np.pi * RADIUS**2
COLLAR = 0.1
"""Radius of a pipe that stands on the sphere."""
RIM = float(np.sqrt(RADIUS**2 - COLLAR**2))
"""Height at which it meets the sphere."""


def sphere(*, level=5, move=None):
    """A sphere that rises by 14 mm."""
    vertices, faces = icosphere(RADIUS, level=level)
    place = move or (lambda points: points)
    return make_body(place(vertices), faces, rise=place(vertices + np.array([0.0, 0.014, 0.0])) - place(vertices))


BODY = sphere()


def measured(vertices, faces, *, body=BODY):
    return GarmentOnBody(make_fit(vertices, faces, body)).measure(np.zeros(1))


def shell(radius, *, level=4):
    return icosphere(radius, level=level)


def collar(depth, *, length=0.2):
    """A pipe that stands in the sphere by `depth`, along the pipe."""
    vertices, faces = pipe(COLLAR, length, edge=0.005)
    return vertices + np.array([0.0, RIM - depth, 0.0]), faces


def test_cloth_wholly_in_the_body_is_grave_and_all_skin_is_in_front():
    found = measured(*shell(RADIUS - 0.01))
    assert found.at_base.skin_area == pytest.approx(SPHERE, rel=0.01)
    assert found.at_base.inside_share == pytest.approx(1.0)
    assert (found.severities["in_front"], found.severities["sunk"], found.severity) == ("grave", "grave", "grave")


def test_cloth_too_deep_to_be_in_reach_is_grave_all_the_same():
    found = measured(*shell(RADIUS - 0.05))
    assert found.at_base.skin_area == 0.0
    assert (found.at_base.inside_share, found.severity) == (pytest.approx(1.0), "grave")


def test_cloth_exactly_on_the_skin_has_all_skin_in_front():
    found = measured(BODY.vertices, BODY.faces)
    assert found.at_base.skin_area == pytest.approx(SPHERE, rel=0.01)
    assert found.severity == "grave"


@pytest.mark.parametrize("clearance", [0.0005, 0.005, 0.05])
def test_cloth_outside_is_clean_at_the_base(clearance):
    found = measured(*shell(RADIUS + clearance, level=5))
    assert (found.at_base.skin_area, found.at_base.inside_share, found.at_base.tucked_area) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize("count", [3, 12, 80])
@pytest.mark.parametrize("level", [3, 5])
def test_skin_before_a_sheet_is_the_cap(count, level):
    height = RADIUS - 0.012
    vertices, faces = sheet(1.2, count=count, height=height)
    found = measured(vertices, faces, body=sphere(level=level)).at_base
    assert found.skin_area == pytest.approx(2 * np.pi * RADIUS * (RADIUS - height), rel=0.04 if level == 5 else 0.08)
    assert found.inside_share * 1.2**2 == pytest.approx(np.pi * (RADIUS**2 - height**2), rel=0.06)
    assert found.tucked_area == 0.0


def test_turning_and_shifting_everything_changes_nothing():
    def move(points):
        return turned(points, shift=(0.3, 1.0, -0.2))

    vertices, faces = sheet(1.2, count=12, height=RADIUS - 0.012)
    here = measured(vertices, faces).at_base
    there = measured(move(vertices), faces, body=sphere(move=move)).at_base
    assert there.skin_area == pytest.approx(here.skin_area, rel=1e-6)
    assert there.inside_share == pytest.approx(here.inside_share, rel=1e-6)


@pytest.mark.parametrize("depth", [0.006, 0.012])
def test_a_tucked_rim_is_excused_and_its_area_told(depth):
    found = measured(*collar(depth, length=0.3))
    assert found.at_base.tucked_area == pytest.approx(2 * np.pi * COLLAR * depth, rel=0.02)
    assert (found.at_base.skin_area, found.at_base.inside_share) == (0.0, 0.0)
    assert found.severities["in_front"] == found.severities["sunk"] == "clean"


@pytest.mark.parametrize("depth", [0.02, 0.04])
def test_nothing_is_excused_of_a_collar_that_is_deeper_than_a_rim(depth):
    length = 0.5
    found = measured(*collar(depth, length=length)).at_base
    assert found.tucked_area == 0.0
    assert found.inside_share == pytest.approx(depth / length, rel=0.03)


def test_nothing_is_excused_where_rims_are_much_of_the_cloth():
    depth, length = 0.012, 0.1
    assert depth / length > MOST_TUCKED
    found = measured(*collar(depth, length=length)).at_base
    assert found.tucked_area == 0.0
    assert found.inside_share == pytest.approx(depth / length, rel=0.02)


def test_a_net_in_the_body_is_judged_like_the_cloth_without_its_holes():
    height = RADIUS - 0.012
    vertices, faces = sheet(0.6, count=120, height=height)
    row, column = np.divmod(np.arange(len(faces)) % 120**2, 120)
    net = faces[~((row % 3 == 1) & (column % 3 == 1))]
    whole, holed = measured(vertices, faces), measured(vertices, net)
    assert whole.at_base.inside_share > 0.035
    assert holed.at_base.tucked_area == 0.0
    assert holed.at_base.inside_share == pytest.approx(whole.at_base.inside_share, rel=0.05)
    assert (holed.severities["sunk"], holed.severities["in_front"]) == (
        whole.severities["sunk"], whole.severities["in_front"],
    )  # fmt: skip


def test_a_narrow_band_sunk_in_the_body_is_no_tucked_rim():
    band = 2 * TUCK - 0.004
    vertices, faces = pipe(RADIUS - 0.005, band, edge=0.005)
    found = measured(vertices - [0.0, band / 2, 0.0], faces)
    assert (found.at_base.tucked_area, found.at_base.inside_share) == (0.0, pytest.approx(1.0))
    assert found.severity == "grave"


def test_skin_with_cloth_over_it_too_is_not_in_front():
    inner, faces = shell(RADIUS - 0.005)
    outer, _ = shell(RADIUS + 0.005)
    both = np.concatenate([inner, outer])
    found = measured(both, np.concatenate([faces, faces + len(inner)])).at_base
    assert (found.skin_area, found.inside_share) == (0.0, pytest.approx(0.475, abs=0.01))


def test_skin_is_not_in_front_of_cloth_on_the_far_side_of_a_thin_body():
    flat = np.array([1.0, 0.06, 1.0])
    vertices, faces = icosphere(RADIUS, level=5)
    body = make_body(vertices * flat, faces, rise=0.0 * vertices)
    above, triangles = sheet(0.5, count=20, height=0.06 * RADIUS + 0.001)
    assert measured(above, triangles, body=body).at_base.skin_area == 0.0


def test_the_base_of_a_repaired_fit_is_the_repaired_base():
    inside, faces = shell(RADIUS - 0.01)
    outside, _ = shell(RADIUS + 0.005)
    sunk, clear = make_fit(inside, faces, BODY), make_fit(outside, faces, BODY)
    mended, spoilt = replace(sunk, base=outside), replace(clear, base=inside)
    assert GarmentOnBody(mended).measure(np.zeros(1)).at_base.skin_area == 0.0
    assert GarmentOnBody(spoilt).measure(np.zeros(1)).at_base.skin_area == pytest.approx(SPHERE, rel=0.01)


def test_nothing_is_forgiven_after_a_repair_because_the_makers_base_had_it():
    inside, faces = shell(RADIUS - 0.01)
    outside, _ = shell(RADIUS + 0.005)
    mended = replace(make_fit(inside, faces, BODY), base=outside)
    plain = GarmentOnBody(make_fit(outside, faces, BODY)).measure(np.ones(1))
    again = GarmentOnBody(mended).measure(np.ones(1))
    assert plain.show_through.exposed_area > 100e-4
    assert again.show_through == plain.show_through


def test_it_is_graded_on_every_shape_and_its_places_are_the_same():
    worn = GarmentOnBody(make_fit(*sheet(1.2, count=12, height=RADIUS - 0.012), BODY))
    start, risen = (worn.measure(np.array([weight])) for weight in (0.0, 1.0))
    assert start.at_base == risen.at_base
    first, second = (next(one for one in found.places if one.fault == "in_front") for found in (start, risen))
    assert (first.vertex, first.value, first.region, first.side) == (
        second.vertex, second.value, second.region, second.side,
    )  # fmt: skip
    assert np.array(second.position_m) - np.array(first.position_m) == pytest.approx([0.0, 0.014, 0.0], abs=1e-6)


def test_its_field_adds_up_to_its_figure():
    worn = GarmentOnBody(make_fit(*sheet(1.2, count=12, height=RADIUS - 0.012), BODY))
    assert worn.field("in_front", np.ones(1)).sum() == worn.measure(np.ones(1)).at_base.skin_area
    shares = worn.fields(np.zeros(1)).layers["in_front"]
    assert (shares.min(), shares.max()) == (0.0, 1.0)
