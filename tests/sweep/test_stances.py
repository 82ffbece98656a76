"""A sweep over shapes and stances: which are looked at, what the rows say, and that a store tells stances apart."""

import pickle
from pathlib import Path

import numpy as np
import pytest

from dressform.body.shapes import Shape, ShapeSettings
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import DEFAULT_BANDS
from dressform.fit.posed import posed_fit
from dressform.sweep.run import choose_shapes, run_sweep
from dressform.sweep.spread import SweepJob
from dressform.sweep.store import RowStore
from dressform.sweep.worst import worst_shapes
from limbs import bend, limb, sleeve, sleeved

FIT = sleeved(limb(along=25, around=16), sleeve(along=19, around=16), follows=0.6)
STANCES = (bend(30.0), bend(80.0))
FEW = ShapeSettings(ends=False, strongest=0, sobol=2)
SHAPES = choose_shapes({"sleeve": FIT}, settings=FEW, stances=STANCES)


def test_every_stance_is_looked_at_on_the_base_the_worst_corners_and_the_sample() -> None:
    rest = [one.label for one in SHAPES["sleeve"] if one.stance is None]
    for stance in STANCES:
        there = [one.label for one in SHAPES["sleeve"] if one.stance is stance]
        assert there[: len(rest)] == rest
        corners = {threat.shape.weights.tobytes() for threat in worst_shapes(posed_fit(FIT, stance))}
        assert corners <= {one.weights.tobytes() for one in SHAPES["sleeve"] if one.stance is stance}
    assert [one.label for one in SHAPES["sleeve"][: len(rest)]] == rest


def test_rows_say_at_which_stance_and_are_what_measuring_there_says() -> None:
    shapes = {"sleeve": [SHAPES["sleeve"][0], *(one for one in SHAPES["sleeve"] if one.label == "worst 1")]}
    rows = run_sweep({"sleeve": FIT}, shapes).rows
    assert [row.faults.stance for row in rows] == ["", "", "bent 30°", "bent 80°"]
    worn = GarmentOnBody(FIT)
    for row, stance in zip(rows[1:], (None, *STANCES)):
        assert row.values == pytest.approx(
            {**row.values, "exposed": worn.measure(row.weights, stance).show_through.exposed_area}
        )
    assert len({row.values["exposed"] for row in rows[1:]}) > 1


def test_a_job_with_stances_survives_the_way_to_another_process() -> None:
    job = pickle.loads(pickle.dumps(SweepJob({"sleeve": FIT}, DEFAULT_BANDS, {}, False, STANCES)))
    assert [one.name for one in job.stances] == ["bent 30°", "bent 80°"]
    assert np.array_equal(job.stances[1].worlds, STANCES[1].worlds)


def test_a_store_tells_rest_and_stances_apart(tmp_path: Path) -> None:
    weights = np.ones(2)
    asked = {"sleeve": [Shape("thick", weights), *(Shape("thick", weights, stance) for stance in STANCES)]}
    with RowStore(tmp_path / "rows") as store:
        first = run_sweep({"sleeve": FIT}, asked, store=store).rows
        again = run_sweep({"sleeve": FIT}, asked, store=store).rows
        other = run_sweep({"sleeve": FIT}, {"sleeve": [Shape("thick", weights, bend(81.0))]}, store=store).rows
    assert [row.kept for row in again] == [True] * 3
    assert [row.faults.stance for row in again] == [row.faults.stance for row in first]
    assert [row.values for row in again] == [row.values for row in first]
    assert not other[0].kept
