"""The words for faults, and the units in which people read them."""

from dressform.errors import ArgumentError
from dressform.faults.registry import ALL_FAULTS, FAULT_OF, FAULTS
from dressform.faults.results import Place

FAULT_WORDS = {fault.key: fault.words for fault in ALL_FAULTS}
"""How a report calls each of `FAULTS`."""


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
    reading, unit = reading_of(fault, value)
    return f"{rounded(reading, FAULT_OF[fault].digits)} {unit}".strip()


def place_amount(place: Place) -> str:
    """The value of a place as people read it."""
    return f"{rounded(place.value, FAULT_OF[place.fault].digits)} {place.unit}".strip()


def rounded(value: float, digits: int) -> str:
    """The value rounded to that many digits; digits before the decimal point are always kept."""
    return f"{value:.0f}" if abs(value) >= 10 ** (digits - 1) else f"{value:.{digits}g}"
