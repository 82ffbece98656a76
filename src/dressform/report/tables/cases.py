"""Tables of cases: then and now, and a folder of complaints grouped."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.text import Text

from dressform.faults.registry import FAULTS
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.words import FAULT_WORDS
from dressform.formats.case_file import Case, CaseFault
from dressform.report.tables.check import SEVERITY_STYLES
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM_PER_M

HEIGHT_BAND = 0.10
"""Places of one garment, fault and side within so many metres of height are told as one."""
NOTE_WIDTH = 60


def faults_table(then: Mapping[str, CaseFault], now: Mapping[str, CaseFault]) -> WholeTable:
    """Every fault that was or is not clean, then and now."""
    table = WholeTable("At this shape")
    table.add_column("fault")
    for heading in ("then", "now"):
        table.add_column(heading, justify="right")
        table.add_column("")
    for fault in FAULTS:
        pair = (then.get(fault), now.get(fault))
        if any(one is not None and one.severity != SEVERITIES[0] for one in pair):
            table.add_row(FAULT_WORDS[fault], *(cell for one in pair for cell in _cells(one)))
    if not table.row_count:
        table.add_row("nothing", "–", "", "–", "")
    return table


def place_words(place: Place) -> str:
    """A place of a case in words: what, where, how much."""
    where = [word for word in (place.part, place.region, place.side) if word]
    where.append(f"{place.height * CM_PER_M:.0f} cm above the ground")
    amount = f"{place.value:.3g} {place.unit}".strip() if place.severity else ""
    words = FAULT_WORDS.get(place.fault, place.fault or "place")
    judged = f" ({place.severity}, {amount})" if place.severity else ""
    return f"{words}{judged}; {', '.join(where)}"


def cases_table(cases: Sequence[tuple[Path, Case]], folder: Path) -> WholeTable:
    """Groups of cases, those with the most complaints first, then the gravest."""
    table = WholeTable(f"{len(cases)} {'case' if len(cases) == 1 else 'cases'} by garment, place and cause")
    for heading in ("garment", "fault", "where"):
        table.add_column(heading, overflow="fold")
    table.add_column("cm above\nground", justify="right")
    table.add_column("cause", overflow="fold")
    table.add_column("cases", justify="right")
    table.add_column("worst")
    table.add_column("shapes", overflow="fold", max_width=30)
    table.add_column("latest")
    table.add_column("file of the latest, and its note", overflow="fold", max_width=NOTE_WIDTH)
    for group in _groups(cases):
        path, latest = group.latest
        note = " ".join(latest.note.split())
        table.add_row(
            group.garment,
            FAULT_WORDS.get(group.fault, group.fault or "–"),
            group.where or "–",
            group.heights,
            group.cause or "–",
            str(len(group.cases)),
            Text(group.severity, style=SEVERITY_STYLES.get(group.severity, "")),
            ", ".join(dict.fromkeys("not said" if case.shape is None else case.shape.label for _, case in group.cases)),
            latest.made[:10],
            f"{path.relative_to(folder)}{': ' if note else ''}{note[:NOTE_WIDTH]}",
        )
    return table


@dataclass(frozen=True)
class _Group:
    """Cases about one garment, fault, place and cause."""

    garment: str
    fault: str
    where: str
    cause: str
    cases: list[tuple[Path, Case]]

    @property
    def latest(self) -> tuple[Path, Case]:
        return max(self.cases, key=lambda pair: pair[1].made)

    @property
    def severity(self) -> str:
        """The worst that was measured when a case was saved."""
        known = [case.place.severity for _, case in self.cases if case.place and case.place.severity in SEVERITIES]
        return max(known, key=SEVERITIES.index, default="")

    @property
    def heights(self) -> str:
        found = sorted(case.place.height * CM_PER_M for _, case in self.cases if case.place)
        if not found:
            return "–"
        low, high = f"{found[0]:.0f}", f"{found[-1]:.0f}"
        return low if low == high else f"{low}–{high}"


def _groups(cases: Sequence[tuple[Path, Case]]) -> list[_Group]:
    """The cases grouped."""
    found: dict[tuple[str, ...], _Group] = {}
    for path, case in cases:
        place = case.place
        fault, cause = place.fault if place else "", case.cause
        where = ", ".join(word for word in (place.part, place.region, place.side) if word) if place else ""
        band = str(int(place.height // HEIGHT_BAND)) if place and not place.region else ""
        key = (case.garment.source.name, fault, where, band, cause)
        found.setdefault(key, _Group(key[0], fault, where, cause, [])).cases.append((path, case))
    return sorted(found.values(), key=lambda group: (-len(group.cases), -_level(group.severity), group.garment))


def _level(severity: str) -> int:
    return SEVERITIES.index(severity) if severity in SEVERITIES else -1


def _cells(fault: CaseFault | None) -> tuple[str, Text]:
    """A fault's figure and verdict."""
    if fault is None:
        return "–", Text("")
    return f"{fault.value:.3g} {fault.unit}".strip(), Text(
        fault.severity, style=SEVERITY_STYLES.get(fault.severity, "")
    )
