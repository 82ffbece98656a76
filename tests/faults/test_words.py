"""Readings for people: lengths, areas and shares in their units, counts as they are."""

from math import pi

import pytest

from dressform.faults.fault import Fault
from dressform.faults.registry import ALL_FAULTS
from dressform.faults.words import figure_words, reading_of

PER_SI = {"mm": 1e3, "cm²": 1e4, "%": 1e2, "‱": 1e4, "°": 180.0 / pi}


@pytest.mark.parametrize("fault", ALL_FAULTS, ids=lambda fault: fault.key)
def test_a_reading_is_the_si_value_in_the_unit_shown_and_a_count_stays_a_count(fault: Fault) -> None:
    reading, unit = reading_of(fault.key, 0.25)
    assert unit == fault.unit
    assert reading == pytest.approx(0.25 * PER_SI.get(unit, 1.0))


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [
        (0.0552, "mm", "0.1 mm"),
        (0.049, "mm", "0 mm"),
        (14.72, "mm", "14.7 mm"),
        (-0.01, "mm", "0 mm"),
        (75.7, "‱", "76 ‱"),
        (0.0552, "cm²", "0.06 cm²"),
        (121.26, "cm²", "121 cm²"),
        (61.68, "%", "61.7 %"),
        (0.3333, "", "0.333"),
    ],
)
def test_no_figure_is_told_finer_than_it_can_be_measured(value: float, unit: str, told: str) -> None:
    assert figure_words(value, unit) == told
