"""Readings for people: lengths, areas and shares in their units, counts as they are."""

import pytest

from dressform.faults.fault import Fault
from dressform.faults.registry import ALL_FAULTS
from dressform.faults.words import reading_of

PER_SI = {"mm": 1e3, "cm²": 1e4, "%": 1e2}


@pytest.mark.parametrize("fault", ALL_FAULTS, ids=lambda fault: fault.key)
def test_a_reading_is_the_si_value_in_the_unit_shown_and_a_count_stays_a_count(fault: Fault) -> None:
    reading, unit = reading_of(fault.key, 0.25)
    assert unit == fault.unit
    assert reading == pytest.approx(0.25 * PER_SI.get(unit, 1.0))
