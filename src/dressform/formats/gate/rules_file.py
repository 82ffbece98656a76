"""The rules TOML: what a shop accepts.

schema = "dressform-rules/1"
fail_on = "moderate"                # slight, moderate or grave

[bands]                             # as in a bands file
pucker = [80, 200, 300]

[tucks]                             # cloth that is tucked in at its rims, cm²
most_cm2 = 30
garments = { "boots*" = 120 }

[[excused]]
garment = "oilskin*"
fault = "pucker"                    # every fault where left out
stances = ["kneel*"]                # rest and every stance where left out; "" is rest
reason = "Old stock, redrawn in spring"
until = 2027-03-31                  # the last day; from the next on it counts again
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fnmatch import fnmatchcase
from pathlib import Path

import msgspec

from dressform.errors import FileError
from dressform.faults.registry import FAULT_OF, FAULTS
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import Bands
from dressform.formats.bands_file import made_bands
from dressform.formats.guards.toml import converted, read_toml

RULES_SCHEMA = "dressform-rules/1"
DEFAULT_FAIL_ON = "moderate"
"""From which severity on a gate fails a garment."""


@dataclass(frozen=True)
class Excuse:
    """A fault that does not count until a day.

    Attributes:
        garment: Pattern of the garments' names.
        fault: The fault; empty for every one.
        stances: Patterns of stances; none for rest and all stances. Rest is the empty name.
        reason: Why.
        until: The last day on which it does not count.
    """

    garment: str
    fault: str
    stances: tuple[str, ...]
    reason: str
    until: date

    def meets(self, garment: str, fault: str, stance: str) -> bool:
        """Whether it is about this fault, whatever the day."""
        is_there = not self.stances or any(fnmatchcase(stance, one) for one in self.stances)
        return fnmatchcase(garment, self.garment) and self.fault in ("", fault) and is_there

    @property
    def words(self) -> str:
        """`oilskin*, pucker: Old stock (until 2027-03-31)`."""
        return f"{self.garment}, {self.fault or 'every fault'}: {self.reason} (until {self.until.isoformat()})"


@dataclass(frozen=True)
class Rules:
    """What a shop accepts.

    Attributes:
        fail_on: From which severity on a garment fails.
        bands: From which values on a fault is slight, moderate, grave; None where the rules do not say.
        tucks_cm2: Most cloth that may be tucked in at the rims of a garment, cm²; None for any amount.
        tucks_of: The same by pattern of garments' names; the first that meets counts.
        excuses: Faults that do not count until a day.
    """

    fail_on: str = DEFAULT_FAIL_ON
    bands: Bands | None = None
    tucks_cm2: float | None = None
    tucks_of: Mapping[str, float] = field(default_factory=dict)
    excuses: tuple[Excuse, ...] = ()

    def tucks_allowed(self, garment: str) -> float | None:
        """Most cloth that may be tucked in of a garment, cm²; None for any amount."""
        return next((most for name, most in self.tucks_of.items() if fnmatchcase(garment, name)), self.tucks_cm2)


class _Tucks(msgspec.Struct, forbid_unknown_fields=True):
    most_cm2: float | None = None
    garments: dict[str, float] = {}


class _Excused(msgspec.Struct, forbid_unknown_fields=True):
    garment: str
    reason: str
    until: date
    fault: str = ""
    stances: list[str] = []


class _RulesFile(msgspec.Struct, forbid_unknown_fields=True):
    schema: str
    fail_on: str = DEFAULT_FAIL_ON
    bands: dict[str, list[float]] = {}
    tucks: _Tucks = msgspec.field(default_factory=_Tucks)
    excused: list[_Excused] = []


def read_rules(path: Path) -> Rules:
    """Rules from a TOML file.

    Raises:
        FileError: it is no such file, or a key, fault, severity, date or number in it is not valid; the place is named.

    Proof: tests/formats/gate/test_rules_file.py
    """
    tree = read_toml(path)
    found = converted(path, "", tree, _RulesFile, advice=f'Write schema = "{RULES_SCHEMA}" and what docs/gate.md lists')
    if found.schema != RULES_SCHEMA:
        raise FileError.of(path, "schema", f"is {found.schema!r}", f'Write schema = "{RULES_SCHEMA}"')
    if found.fail_on not in SEVERITIES[1:]:
        raise FileError.of(path, "fail_on", f"is {found.fail_on!r}", f"Use {', '.join(SEVERITIES[1:])}")
    for name, most in {"most_cm2": found.tucks.most_cm2 or 0.0, **found.tucks.garments}.items():
        if not 0 <= most < float("inf"):
            raise FileError.of(path, f"tucks.{name}", f"is {most}", "Give an area in cm², 0 or more")
    bands = made_bands(path, found.bands) if found.bands else None
    excuses = tuple(_excuse(path, number, one) for number, one in enumerate(found.excused))
    return Rules(found.fail_on, bands, found.tucks.most_cm2, found.tucks.garments, excuses)


def _excuse(path: Path, number: int, one: _Excused) -> Excuse:
    place = f"excused[{number}]"
    if one.fault and one.fault not in FAULT_OF:
        raise FileError.of(path, f"{place}.fault", f"is {one.fault!r}", f"Use one of {', '.join(FAULTS)}")
    for name, text in (("garment", one.garment), ("reason", one.reason)):
        if not text.strip():
            raise FileError.of(path, f"{place}.{name}", "is empty", "Say which garments, and why")
    return Excuse(one.garment, one.fault, tuple(one.stances), one.reason.strip(), one.until)
