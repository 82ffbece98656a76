"""The words for faults, and the units in which people read them."""

from dressform.errors import ArgumentError
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.registry import ALL_FAULTS, FAULT_OF, FAULTS
from dressform.faults.results import Place

FAULT_WORDS = {fault.key: fault.words for fault in ALL_FAULTS}
"""How a report calls each of `FAULTS`."""


HUNDREDTH = 0.01
FINEST = {"mm": 0.1, PUCKER.unit: 1.0, "triangles": 1.0, "vertices": 1.0}
"""The last step of a figure that is told, by its unit."""


def reading_of(fault: str, value: float) -> tuple[float, str]:
    """A fault's value in the unit that people read, and that unit.

    Raises:
        ArgumentError: no fault has that name.
    """
    if fault not in FAULT_OF:
        raise ArgumentError.of("reading_of", "fault", f"one of {', '.join(FAULTS)}", repr(fault), "Use one of these")
    return value * FAULT_OF[fault].factor, FAULT_OF[fault].unit


def amount_words(fault: str, value: float) -> str:
    """A fault's value as people read it, with its unit: rounded to the fault's digits, or to a whole number."""
    return figure_words(*reading_of(fault, value), digits=FAULT_OF[fault].digits)


def place_amount(place: Place) -> str:
    """The value of a place as people read it."""
    return figure_words(place.value, place.unit, digits=FAULT_OF[place.fault].digits)


def figure_words(value: float, unit: str, *, digits: int = 3) -> str:
    """`14.7 mm`: a figure as every table and sentence tells it, with its unit.

    No more is told than can be measured: tenths of a millimetre, whole ‱, hundredths of anything else that has a unit.
    """
    finest = FINEST.get(unit, HUNDREDTH) if unit else 0.0
    told = round(value / finest) * finest if finest else value
    return f"{rounded(told + 0.0, digits)} {unit}".strip()


def rounded(value: float, digits: int) -> str:
    """The value rounded to that many digits; digits before the decimal point are always kept."""
    return f"{value:.0f}" if abs(value) >= 10 ** (digits - 1) else f"{value:.{digits}g}"
