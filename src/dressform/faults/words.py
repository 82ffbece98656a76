"""The words for faults, and the units in which people read them."""

from dressform.errors import ArgumentError
from dressform.faults.results import FAULTS
from dressform.units import CM2_PER_M2, MM_PER_M, PERCENT

FAULT_WORDS = {
    "exposed": "skin shows",
    "inside": "cloth inside the body",
    "depth": "cloth deep in the body",
    "pucker": "puckered",
    "stretch": "stretched",
    "ease": "ease lost or gained",
    "folded": "folded over",
    "crossing": "cuts through itself",
    "seam": "seam open",
    "hard": "hard part bent",
    "layers": "layers swapped",
}
"""How a report calls each of `FAULTS`."""

_READINGS = {
    "exposed": (CM2_PER_M2, "cm²"),
    "inside": (PERCENT, "%"),
    "depth": (MM_PER_M, "mm"),
    "pucker": (1.0, ""),
    "stretch": (1.0, ""),
    "ease": (MM_PER_M, "mm"),
    "folded": (1.0, "triangles"),
    "crossing": (1.0, "pairs"),
    "seam": (MM_PER_M, "mm"),
    "hard": (MM_PER_M, "mm"),
    "layers": (1.0, "vertices"),
}


def reading_of(fault: str, value: float) -> tuple[float, str]:
    """A fault's value in the unit that people read, and that unit.

    Raises:
        ArgumentError: no fault has that name.
    """
    if fault not in _READINGS:
        raise ArgumentError.of("reading_of", "fault", f"one of {', '.join(FAULTS)}", repr(fault), "Use one of these")
    factor, unit = _READINGS[fault]
    return value * factor, unit
