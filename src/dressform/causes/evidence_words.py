"""Wording of evidence, and the units in which people read it."""

from collections.abc import Mapping

from dressform.causes.evidence import COUNT, EVIDENCE, HEIGHT, METRES, OF, RATIO, SHARE, SQUARE_METRES, figure_of
from dressform.errors import ArgumentError
from dressform.units import CM2_PER_M2, CM_PER_M, MM_PER_M, PERCENT

_EVIDENCE_READINGS: Mapping[str, tuple[float, str, str]] = {
    METRES: (MM_PER_M, "mm", "_mm"),
    HEIGHT: (CM_PER_M, "cm", "_cm"),
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
