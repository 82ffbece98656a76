"""`--tolerance` and `--pair` of `dressform compare`, from words to values."""

import re
from collections.abc import Sequence

from dressform.errors import ArgumentError
from dressform.jobs.compare.gate import GATED, TOLERANCE, ReleaseGate, refuse_unknown_measure

SAME_UNITS = {"cm2": "cm²", "sqcm": "cm²", "percent": "%", "deg": "°", "degrees": "°"}
"""Units as they are typed where a keyboard lacks their sign."""
_AMOUNT = re.compile(r"([0-9.]+(?:e-?[0-9]+)?)\s*(\S*)", re.IGNORECASE)
EXAMPLE = "Write for instance 0.1, 10%, exposed=2cm2 or depth=1"


def gate_of(asked: Sequence[str] | None) -> ReleaseGate:
    """What may grow by how much: a share, and amounts of single faults in the unit of the tables.

    Raises:
        ArgumentError: a piece is neither a share nor FAULT=AMOUNT, its unit is another, or there is no such fault.
    """
    share, limits = TOLERANCE, dict[str, float]()
    for piece in (part.strip() for text in asked or () for part in text.split(",")):
        fault, equals, amount = piece.partition("=")
        if equals:
            limits[fault.strip()] = _limit(fault.strip(), amount.strip(), piece)
        else:
            share = _share(piece)
    return ReleaseGate(share, limits)


def pairs_of(asked: Sequence[str] | None) -> dict[str, str]:
    """Garments of the second side by those of the first.

    Raises:
        ArgumentError: a piece is not A=B, or one is named twice.
    """
    found: dict[str, str] = {}
    for piece in asked or ():
        one, equals, other = (part.strip() for part in piece.partition("="))
        if not (one and equals and other):
            advice = "Write for instance coat=coat-fitted"
            raise ArgumentError.of("compare", "pairs", "A=B, a garment of each side", repr(piece), advice)
        if one in found:
            raise ArgumentError.of("compare", "pairs", "of different garments", f"{one} twice", "Pair each once")
        found[one] = other
    return found


def _share(piece: str) -> float:
    found = _AMOUNT.fullmatch(piece)
    if found is None or found[2] not in ("", "%"):
        raise ArgumentError.of("compare", "tolerance", "a share or FAULT=AMOUNT", repr(piece), EXAMPLE)
    return float(found[1]) / (100.0 if found[2] else 1.0)


def _limit(fault: str, amount: str, piece: str) -> float:
    refuse_unknown_measure(fault)
    unit, found = GATED[fault].unit, _AMOUNT.fullmatch(amount)
    if found is None:
        raise ArgumentError.of("compare", "tolerance", "a share or FAULT=AMOUNT", repr(piece), EXAMPLE)
    said = SAME_UNITS.get(found[2].lower(), found[2])
    if said not in ("", unit):
        rule = f"in {unit or 'no unit'} for {fault}"
        raise ArgumentError.of("compare", "tolerance", rule, repr(piece), f"Write {fault}={found[1]}{unit}")
    return float(found[1])
