"""Clusters: places of one fault on many shapes become one, places apart do not, and the plainest comes first."""

from dataclasses import replace

import numpy as np
import pytest

import phantoms
from dressform.body.shapes import Shape, label_of, shape_at_base
from dressform.causes.base_places import base_places
from dressform.causes.clusters import find_clusters
from dressform.causes.results import Cluster
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import Bands
from dressform.fit.make import make_fit
from dressform.sweep.results import SweepRow
from dressform.sweep.run import run_sweep


def coarse(clearance: float = 0.012) -> GarmentOnBody:
    body = phantoms.phantom_body()
    return GarmentOnBody(make_fit(body, phantoms.phantom_tube(clearance=clearance, sides=9)))


def rows_of(worn: GarmentOnBody, *named: dict[str, float]) -> tuple[SweepRow, ...]:
    body = worn.body
    weights = [body.weights(each) for each in named]
    shapes = [shape_at_base(body.range), *(Shape(label_of(body.range, each), each) for each in weights)]
    return run_sweep({"tube": worn.fit}, {"tube": shapes}).rows


def clusters_of(worn: GarmentOnBody, rows: tuple[SweepRow, ...]) -> tuple[Cluster, ...]:
    return find_clusters(worn, "tube", rows, bands=Bands())


def test_a_place_seen_on_many_shapes_is_one_cluster_with_the_worst_first() -> None:
    worn = coarse()
    rows = rows_of(worn, {"belly": 0.8}, {"belly": 1.0}, {"belly": 0.9})
    found = [each for each in clusters_of(worn, rows) if each.fault == "depth"]
    front = [each for each in found if each.worst.place.side.startswith("front")]
    assert next(sighting.label for sighting in front[0].sightings) == "belly=1"
    labels = {sighting.label for sighting in front[0].sightings}
    assert labels == {row.label for row in rows if any(place.fault == "depth" for place in row.faults.places)}


def test_every_place_belongs_to_one_cluster() -> None:
    worn = coarse()
    rows = rows_of(worn, {"belly": 1.0}, {"girth": 1.0}, {"belly": 1.0, "girth": 1.0})
    places = [place for row in rows for place in row.faults.places]
    held = [sighting.place for each in clusters_of(worn, rows) for sighting in each.sightings]
    assert len(places) > 3
    assert sorted(map(id, held)) == sorted(map(id, places))


def test_two_bulges_far_apart_are_two_clusters() -> None:
    body = phantoms.phantom_body()
    low = body.vertices.copy()
    low[:, 1] += 0.30
    turned = phantoms._deltas(low)[0] * np.array([1.0, 1.0, 1.0])
    two = replace(body, deltas=np.stack([body.deltas[0] + turned, *body.deltas[1:]]))
    worn = GarmentOnBody(make_fit(two, phantoms.phantom_tube(clearance=0.012, sides=9)))
    rows = rows_of(worn, {"belly": 1.0})
    exposed = [each for each in clusters_of(worn, rows) if each.fault == "depth"]
    heights = sorted({round(each.worst.place.height, 1) for each in exposed})
    assert heights[0] == pytest.approx(0.7, abs=0.11)
    assert heights[-1] == pytest.approx(1.0, abs=0.11)


def test_bare_skin_comes_before_what_lies_under_it() -> None:
    worn = coarse(0.010)
    found = clusters_of(worn, rows_of(worn, {"belly": 1.0}))
    assert found[0].fault == "exposed"
    assert [each.name for each in found] == [str(number) for number in range(1, len(found) + 1)]
    assert list(found) == sorted(found, key=lambda each: -each.noticed)
    assert {each.fault for each in found} >= {"exposed", "depth"}


def test_a_clean_garment_has_no_cluster() -> None:
    body = phantoms.phantom_body()
    worn = GarmentOnBody(make_fit(body, phantoms.phantom_tube(clearance=0.02, sides=72)))
    assert clusters_of(worn, rows_of(worn, {"girth": 0.2})) == ()


def test_vertices_of_bare_skin_are_the_bodys_and_lie_where_it_is() -> None:
    worn = coarse(0.010)
    found = clusters_of(worn, rows_of(worn, {"belly": 1.0}))[0]
    skin = worn.body.vertices[found.vertices]
    assert np.linalg.norm(skin - skin.mean(axis=0), axis=1).max() < 0.2
    np.testing.assert_allclose(np.linalg.norm(skin[:, [0, 2]], axis=1), phantoms.RADIUS, atol=1e-9)


def test_room_gained_and_lost_are_kept_apart() -> None:
    body = phantoms.phantom_body()
    fit = make_fit(body, phantoms.phantom_tube(clearance=0.03))
    moved = fit.deltas.copy()
    side = np.sign(fit.base[:, :1]) * np.array([1.0, 0.0, 0.0])
    moved[1] = 0.02 * np.where(fit.base[:, :1] > 0, side, -side)
    worn = GarmentOnBody(replace(fit, body=replace(body, deltas=0.0 * body.deltas), deltas=moved))
    found = [each for each in clusters_of(worn, rows_of(worn, {"girth": 1.0})) if each.fault == "clearance"]
    assert {each.worst.place.value > 0 for each in found} == {True, False}
    assert all(len({s.place.value > 0 for s in each.sightings}) == 1 for each in found)


def test_cloth_in_the_body_at_the_base_is_a_place_but_a_tucked_hem_is_none() -> None:
    body = phantoms.phantom_body()
    tucked, sunk = phantoms.phantom_tube(clearance=0.02, rings=60), phantoms.phantom_tube(clearance=-0.004, rings=60)
    hem = tucked.vertices.copy()
    low = hem[:, 1] < hem[:, 1].min() + 0.025
    hem[low] = sunk.vertices[low]
    one = GarmentOnBody(make_fit(body, replace(tucked, vertices=hem)))
    assert base_places(one, bands=Bands()) == ()
    places = base_places(GarmentOnBody(make_fit(body, sunk)), bands=Bands())
    assert {place.fault for place in places} == {"depth"}
    assert places[0].value == pytest.approx(4.0, abs=0.3)
    assert places[0].severity == "moderate"


def test_room_that_was_not_meant_is_a_place_at_the_base() -> None:
    body = phantoms.phantom_body()
    worn = GarmentOnBody(make_fit(body, phantoms.phantom_tube(clearance=0.04)))
    meant = np.full(len(worn.fit.base), 0.015)
    wide = base_places(GarmentOnBody(worn.fit, meant=meant), bands=Bands())
    assert {(place.fault, place.value > 0) for place in wide} == {("clearance", True)}
    assert wide[0].value == pytest.approx(25.0, abs=0.5)
    assert base_places(worn, bands=Bands()) == ()


def test_room_at_the_base_is_worth_no_more_than_what_5_percent_of_the_cloth_reach() -> None:
    """A coat that was carried to its base kept a grave place, where the nearest skin of its tails changes."""
    body = phantoms.phantom_body()
    worn = GarmentOnBody(make_fit(body, phantoms.phantom_tube(clearance=0.02)))
    meant = worn.sides.signed + 0.002
    few, many = np.zeros((2, len(meant)), dtype=bool)
    few[:5], many[: len(meant) // 4] = True, True
    for unusual, severity in ((few, None), (many, "grave")):
        places = base_places(GarmentOnBody(worn.fit, meant=np.where(unusual, meant + 0.060, meant)), bands=Bands())
        assert {place.severity for place in places} == ({severity} if severity else set())
