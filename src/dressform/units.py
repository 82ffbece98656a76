"""From metres and shares to the units that people read."""

from collections.abc import Iterable

MM_PER_M = 1e3
CM_PER_M = 1e2
CM2_PER_M2 = 1e4
CM3_PER_M3 = 1e6
MS_PER_S = 1e3
PERCENT = 1e2
DIGITS = 7


def number(value: float) -> float:
    """A figure for a file: seven significant digits, as float32 has them."""
    return float(f"{value:.{DIGITS}g}")


def numbers(values: Iterable[float]) -> list[float]:
    """Figures for a file, each as `number` gives it."""
    return [number(float(value)) for value in values]


def counted(count: int, noun: str) -> str:
    """A number with its noun: `1 part`, `2 parts`."""
    return f"{count} {noun}{'' if count == 1 else 's'}"
