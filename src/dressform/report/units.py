"""From metres and shares to what people read, and the words for faults."""

from collections.abc import Iterable, Mapping

from dressform.causes.evidence import COUNT, EVIDENCE, METRES, OF, RATIO, SHARE, SQUARE_METRES, figure_of
from dressform.errors import ArgumentError
from dressform.faults.results import FAULTS

MM_PER_M = 1e3
CM_PER_M = 1e2
CM2_PER_M2 = 1e4
CM3_PER_M3 = 1e6
MS_PER_S = 1e3
PERCENT = 1e2
DIGITS = 7

FAULT_WORDS = {
    "exposed": "skin shows",
    "inside": "cloth inside the body",
    "depth": "cloth deep in the body",
    "crumple": "crumpled",
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
    "crumple": (1.0, ""),
    "stretch": (1.0, ""),
    "ease": (MM_PER_M, "mm"),
    "folded": (1.0, "triangles"),
    "crossing": (1.0, "pairs"),
    "seam": (MM_PER_M, "mm"),
    "hard": (MM_PER_M, "mm"),
    "layers": (1.0, "vertices"),
}


_EVIDENCE_READINGS: Mapping[str, tuple[float, str, str]] = {
    METRES: (MM_PER_M, "mm", "_mm"),
    SQUARE_METRES: (CM2_PER_M2, "cm²", "_cm2"),
    SHARE: (PERCENT, "%", "_percent"),
    COUNT: (1.0, "", ""),
    RATIO: (1.0, "", ""),
}


def evidence_reading(name: str, value: float) -> tuple[float, str, str]:
    """A figure of evidence in the unit that people read, that unit, and the name with the unit in it.

    Raises:
        ArgumentError: no evidence has that name.
    """
    factor, unit, ending = _EVIDENCE_READINGS[figure_of(name)[0].unit]
    stem, stroke, of = name.partition(OF)
    return value * factor, unit, stem + ending + stroke + of


_EVIDENCE_WORDS: Mapping[str, tuple[str, str]] = {
    evidence_reading(name, 0.0)[2]: (figure.words, evidence_reading(name, 0.0)[1]) for name, figure in EVIDENCE.items()
}


def evidence_words(name: str) -> tuple[str, str]:
    """What a figure means, and its unit, from its name with the unit in it as `evidence_reading` gives it.

    Raises:
        ArgumentError: no evidence has that name; the valid names are listed.
    """
    stem, _, of = name.partition(OF)
    if stem not in _EVIDENCE_WORDS:
        rule = f"one of {', '.join(_EVIDENCE_WORDS)}"
        raise ArgumentError.of("evidence_words", "name", rule, repr(name), "Use one of these")
    words, unit = _EVIDENCE_WORDS[stem]
    return f"{words}: {of}" if of else words, unit


def reading_of(fault: str, value: float) -> tuple[float, str]:
    """A fault's value in the unit that people read, and that unit.

    Raises:
        ArgumentError: no fault has that name.
    """
    if fault not in _READINGS:
        raise ArgumentError.of("reading_of", "fault", f"one of {', '.join(FAULTS)}", repr(fault), "Use one of these")
    factor, unit = _READINGS[fault]
    return value * factor, unit


def number(value: float) -> float:
    """A figure for a file: seven significant digits, as float32 has them."""
    return float(f"{value:.{DIGITS}g}")


def numbers(values: Iterable[float]) -> list[float]:
    """Figures for a file, each as `number` gives it."""
    return [number(float(value)) for value in values]
