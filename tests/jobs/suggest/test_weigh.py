"""What is graver, what is eased, and how bad it is."""

import numpy as np
import pytest

from dressform.faults.registry import FAULT_OF
from dressform.faults.severity import DEFAULT_BANDS
from dressform.jobs.suggest.weigh import STIFF, WEIGHED, Left, badness, eased, graver


def left(**values: float) -> Left:
    """Nothing but these."""
    return Left.of({**dict.fromkeys(WEIGHED, 0.0), **values}, DEFAULT_BANDS)


def test_a_grade_that_rises_on_one_shape_is_graver_however_little_it_grows() -> None:
    slight = FAULT_OF["stretch"].bands[0]
    assert [one.fault for one in graver(left(stretch=slight - 1e-9), left(stretch=slight))] == ["stretch"]
    assert graver(left(stretch=0.0), left(stretch=slight - 1e-9)) == []


def test_what_is_graded_may_grow_by_no_more_than_counts() -> None:
    moderate = FAULT_OF["depth"].bands[1]
    assert graver(left(depth=moderate), left(depth=moderate + 0.0004)) == []
    assert [one.fault for one in graver(left(depth=moderate), left(depth=moderate + 0.0006))] == ["depth"]


def test_the_gravest_is_told_first() -> None:
    worse = graver(left(), left(stretch=FAULT_OF["stretch"].bands[0], depth=FAULT_OF["depth"].bands[2]))
    assert [one.fault for one in worse] == ["depth", "stretch"]


def test_only_the_worst_over_all_shapes_counts_as_eased() -> None:
    grave = FAULT_OF["depth"].bands[2]
    before, after = [left(depth=grave), left(depth=2 * grave)], [left(depth=0.0), left(depth=2 * grave)]
    assert eased(before, after) == []
    assert [one.fault for one in eased(before, [left(depth=grave)] * 2)] == ["depth"]


def test_a_likely_stiff_part_is_graded_as_a_hard_one() -> None:
    bounds = FAULT_OF["hard"].bands
    assert [left(**{STIFF: bound}).grades[STIFF] for bound in bounds] == [1, 2, 3]


def test_badness_is_the_grade_and_the_way_to_the_next() -> None:
    slight, moderate, grave = FAULT_OF["depth"].bands
    for value, grade in (
        (slight, 1.0),
        (moderate, 2.0),
        ((slight + moderate) / 2, 1.5),
        (grave, 3.0),
        (2 * grave, 4.0),
    ):
        assert badness([left(), left(depth=value)], DEFAULT_BANDS) == pytest.approx(grade)
    assert badness([left(depth=slight / 2)], DEFAULT_BANDS) == pytest.approx(0.05)


def test_badness_never_falls_where_a_fault_grows() -> None:
    bad = [badness([left(stretch=value)], DEFAULT_BANDS) for value in np.linspace(0.0, 3.0, 200)]
    assert (np.diff(bad) >= 0).all()
