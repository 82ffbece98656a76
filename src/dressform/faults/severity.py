"""Grades a number: at which values a fault is slight, moderate or grave."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dressform.errors import ArgumentError
from dressform.faults.fault import Band
from dressform.faults.registry import ALL_FAULTS, FAULT_OF, FAULTS
from dressform.faults.results import SEVERITIES, ShapeFaults


@dataclass(frozen=True, init=False)
class Bands:
    """Values from which a fault is slight, moderate and grave, by fault. Each bound is inclusive.

    `docs/faults.md` has the defaults and gives the reasons.

    Args:
        changed: Bands that differ from the defaults, by fault.

    Attributes:
        of: The band of each of `FAULTS`.

    Raises:
        ArgumentError: no fault has that name.
    """

    of: Mapping[str, Band]

    def __init__(self, **changed: Band) -> None:
        for name in changed:
            if name not in FAULT_OF:
                raise ArgumentError.of("Bands", "changed", f"named {', '.join(FAULTS)}", repr(name), "Use these names")
        object.__setattr__(self, "of", {fault.key: changed.get(fault.key, fault.bands) for fault in ALL_FAULTS})

    def __getitem__(self, fault: str) -> Band:
        return self.of[fault]

    def __iter__(self) -> Iterator[str]:
        return iter(self.of)

    def grade(self, fault: str, value: float) -> str:
        """Severity of a fault's value: the worst one whose bound it reaches."""
        return SEVERITIES[int(np.searchsorted(self[fault], value, side="right"))]


DEFAULT_BANDS = Bands()


def make_bands(settings: Mapping[str, object]) -> Bands:
    """Bands from plain settings; faults that are not named keep their defaults.

    Args:
        settings: Per fault three rising bounds: slight, moderate, grave. Metres, m², shares and counts.

    Raises:
        ArgumentError: a name is no fault (the valid ones are listed), or its bounds are not three rising positive
            numbers.
    """
    bands: dict[str, Band] = {}
    for name, bounds in settings.items():
        if name not in FAULT_OF:
            raise ArgumentError.of(
                "make_bands", "settings", f"named {', '.join(FAULTS)}", repr(name), "Use one of these names"
            )
        if not (isinstance(bounds, Sequence) and _is_band(bounds)):
            raise ArgumentError.of(
                "make_bands",
                f"settings[{name!r}]",
                "three rising positive numbers: slight, moderate, grave",
                repr(bounds),
                "Correct these bounds",
            )
        bands[name] = (float(bounds[0]), float(bounds[1]), float(bounds[2]))
    return Bands(**bands)


def _is_band(bounds: Sequence[object]) -> bool:
    if len(bounds) != len(SEVERITIES) - 1:
        return False
    if not all(isinstance(bound, int | float) and not isinstance(bound, bool) for bound in bounds):
        return False
    values = np.array(bounds, dtype=np.float64)
    return bool(np.all(np.isfinite(values)) and values[0] > 0 and np.all(np.diff(values) > 0))


def graded_values(faults: ShapeFaults) -> dict[str, float]:
    """The graded number of each fault, in the unit of its band."""
    return {fault.key: fault.value(faults) for fault in ALL_FAULTS}
