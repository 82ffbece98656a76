"""The bands TOML: from which value on a fault is slight, moderate and grave, in the units that people read.

    [bands]
    exposed = [0.2, 2, 10]      # cm²
    inside = [0.05, 0.5, 3]     # % of the cloth
    depth = [1, 3, 10]          # mm
    pucker = [50, 200, 300]     # ‱

Faults that are not named keep their bands. The unit of each is that in which tables show it; `docs/commands.md` lists
them all.
"""

from collections.abc import Mapping
from pathlib import Path

import msgspec

from dressform.errors import ArgumentError, FileError
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.registry import FAULT_OF, FAULTS
from dressform.faults.severity import Bands, make_bands
from dressform.faults.words import reading_of
from dressform.formats.guards.toml import converted, read_toml

OLD_PUCKER = 1.0
"""Pucker that is called grave below this, in ‱, was written as a bare index."""


class _BandsFile(msgspec.Struct, forbid_unknown_fields=True):
    bands: dict[str, list[float]]


def read_bands(path: Path) -> Bands:
    """Bands from a TOML file.

    Raises:
        FileError: not TOML, another table than `bands`, an unknown fault, or bounds that do not rise.
    """
    tree = read_toml(path)
    advice = "Write [bands] and below it lines such as depth = [1, 3, 10]"
    return made_bands(path, converted(path, "", tree, _BandsFile, advice=advice).bands)


def made_bands(path: Path, declared: Mapping[str, list[float]]) -> Bands:
    """Bands as a file declares them, in the units that people read.

    Raises:
        FileError: an unknown fault, or bounds that do not rise.
    """
    pucker = declared.get(PUCKER.key, [])
    if pucker and 0.0 < max(pucker) < OLD_PUCKER:
        rule = f"in {PUCKER.unit}, as tables show it, got {pucker}"
        raise FileError.of(path, f"bands.{PUCKER.key}", f"must be {rule}", "Write 50 for 0.005")
    try:
        return make_bands({name: [bound / _factor(name) for bound in bounds] for name, bounds in declared.items()})
    except ArgumentError as problem:
        raise FileError(f"{path}: {problem}") from None


def bands_in_reading_units(bands: Bands) -> dict[str, list[float]]:
    """Every band as the TOML would have it."""
    return {name: [float(f"{reading_of(name, bound)[0]:.6g}") for bound in bands[name]] for name in FAULTS}


def _factor(fault: str) -> float:
    return reading_of(fault, 1.0)[0] if fault in FAULT_OF else 1.0
