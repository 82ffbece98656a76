"""The search for worse shapes at a stance finds what all corners together show, from any start."""

from itertools import product

import numpy as np
import pytest

from dressform.body.shapes import Shape
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.sweep.results import SweepResult
from dressform.sweep.run import run_sweep
from dressform.sweep.search import search_worse
from limbs import bend, limb, sleeve, sleeved

STANCE = bend(60.0)
FIT = sleeved(limb(along=41, around=24), sleeve(along=37, around=24), follows=0.5)
WORN = GarmentOnBody(FIT)


def sweep_of(weights: np.ndarray) -> SweepResult:
    return run_sweep({"sleeve": FIT}, {"sleeve": [Shape("start", weights, STANCE)]})


@pytest.mark.parametrize("start", [(0.0, 0.0), (0.3, 0.1)])
def test_search_finds_at_least_what_the_best_of_all_corners_shows(start: tuple[float, float]) -> None:
    corners = [np.array(ends, dtype=float) for ends in product(*zip(FIT.body.range.low, FIT.body.range.high))]
    best = max(WORN.measure(corner, STANCE).show_through.exposed_area for corner in corners)
    found = search_worse(WORN, sweep_of(np.array(start)).rows, [STANCE])
    assert best > 1e-4
    assert found[-1].faults.show_through.exposed_area >= best - 1e-9
    assert {row.faults.stance for row in found} == {STANCE.name}
    assert [row.label for row in found] == [f"found {number + 1}" for number in range(len(found))]


def test_search_adds_nothing_where_the_worst_is_known() -> None:
    assert search_worse(WORN, sweep_of(np.ones(2)).rows, [STANCE]) == []


def test_rows_that_were_found_stand_with_their_garment() -> None:
    swept = sweep_of(np.zeros(2))
    found = search_worse(WORN, swept.rows, [STANCE])
    assert swept.with_rows(found).of("sleeve") == (*swept.rows, *found)
