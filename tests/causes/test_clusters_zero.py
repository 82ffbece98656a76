"""A place whose value rounds to nothing stays with the places of its fault."""

from dataclasses import replace

import msgspec
import numpy as np

import phantoms
from dressform.body.shapes import Shape, label_of, shape_at_base
from dressform.causes.clusters import find_clusters
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import Bands
from dressform.fit.make import make_fit
from dressform.sweep.results import SweepRow
from dressform.sweep.run import run_sweep


def lessened(row: SweepRow) -> SweepRow:
    """The row with the values of its places at nothing, as small ones are after rounding."""
    places = tuple(msgspec.structs.replace(place, value=0.0) for place in row.faults.places)
    return replace(row, faults=replace(row.faults, places=places))


def test_places_of_no_value_join_the_same_clusters_as_before() -> None:
    body = phantoms.phantom_body()
    worn = GarmentOnBody(make_fit(body, phantoms.phantom_tube(clearance=0.012, sides=9)))
    weights = [body.weights({"belly": share}) for share in (0.8, 1.0)]
    shapes = [shape_at_base(body.range), *(Shape(label_of(body.range, each), each) for each in weights)]
    rows = run_sweep({"tube": worn.fit}, {"tube": shapes}).rows
    found, again = (
        find_clusters(worn, "tube", given, bands=Bands()) for given in (rows, (*rows[:1], lessened(rows[1]), *rows[2:]))
    )
    assert any(len(each.sightings) > 1 for each in found)
    assert sorted(len(each.sightings) for each in found if each.fault != "clearance") == sorted(
        len(each.sightings) for each in again if each.fault != "clearance"
    )
    assert np.isfinite([each.noticed for each in again]).all()
