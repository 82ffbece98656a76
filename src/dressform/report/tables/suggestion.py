"""How garments should follow, as tables: the verdict first, then what each leaves, then what was tried."""

from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES
from dressform.faults.words import figure_words
from dressform.formats.results.suggest_schema import (
    LeftFault,
    StoredSuggestions,
    SuggestedGarment,
    TriedChange,
    TriedWay,
)
from dressform.report.tables.check import NOTHING
from dressform.report.tables.whole_table import WholeTable
from dressform.units import counted

LISTED = 8
"""So many ways are listed of a garment, those taken and those that ease something first."""
NAMED = 3
"""So many faults are named in a row."""
STYLES = {"taken": "bold green", "trades": "yellow", "eases": "green", "no better": "", "graver": "red"}
STIFF = "stiff"


def print_suggestions(told: StoredSuggestions, console: Console, *, whole: bool = False) -> None:
    """Print how garments should follow.

    Args:
        told: What was found.
        console: Where to.
        whole: Whether every way that was tried is listed.
    """
    console.print(suggestion_line(told), style="bold")
    console.print(f"on {told.body}, over the shapes of a check with --shapes {told.shapes}, {_stances(told)}")
    for broken in told.failed:
        console.print(broken.sentence)
    console.print()
    console.print(suggested_table(told.garments))
    for one in told.differing:
        console.print()
        console.print(lines_table(one))
    for one in told.garments:
        console.print()
        console.print(tried_table(one, most=len(one.tried) if whole else LISTED))


def suggestion_line(told: StoredSuggestions) -> str:
    """The outcome in one sentence: which garments should follow differently, and how."""
    count = counted(len(told.garments), "garment")
    if not told.differing:
        return f"{count}: none should follow differently."
    named = "; ".join(f"{one.name} ({_lines(one)})" for one in told.differing)
    return f"{len(told.differing)} of {count} should follow differently: {named}."


def suggested_table(garments: Sequence[SuggestedGarment]) -> WholeTable:
    """Per garment what it leaves as it follows now and as it should."""
    table = WholeTable("What each leaves over the range")
    table.add_column("garment", overflow="fold")
    for heading in ("should follow", "as it follows now", "as it should"):
        table.add_column(heading, overflow="fold")
    for one in garments:
        table.add_row(
            one.name,
            _lines(one) if one.differs else "as it does",
            left_words(one.before, one.severity_before),
            left_words(one.after, one.severity_after) if one.differs else NOTHING,
        )
    return table


def lines_table(one: SuggestedGarment) -> WholeTable:
    """The lines of one garment with their reasons."""
    table = WholeTable(f"{one.name}: the lines of its settings, and why")
    for heading in ("setting", "value", "reason"):
        table.add_column(heading, overflow="fold")
    for line in one.lines:
        table.add_row(line.key, line.value, line.reason)
    return table


def tried_table(one: SuggestedGarment, *, most: int) -> WholeTable:
    """What was tried of one garment, and what became of it."""
    order = list(STYLES)
    ways = sorted(one.tried, key=lambda way: order.index(way.verdict))
    some = f"{most} of {len(ways)}" if len(ways) > most else str(len(ways))
    table = WholeTable(f"{one.name}: {some} tried")
    for heading in ("way", "verdict", "what it changes", "at", "shapes"):
        table.add_column(heading, overflow="fold")
    for way in ways[:most]:
        table.add_row(
            way.words,
            Text(way.verdict, style=STYLES[way.verdict]),
            way_words(way) or NOTHING,
            where_words(way),
            str(way.shapes),
        )
    return table


def left_words(left: Sequence[LeftFault], severity: str) -> str:
    """`grave (stretched 62 %, puckered 130 ‱)`: the worst grade and the faults that have it."""
    graded = [fault for fault in left if fault.fault != STIFF]
    words = [_fault_words(one) for one in graded if one.severity == severity and severity != SEVERITIES[0]]
    more = f" and {len(words) - NAMED} more" if len(words) > NAMED else ""
    stiff = [
        f"; beside what a check grades, {_fault_words(one)} ({one.severity})" for one in left if one.fault == STIFF
    ]
    return (f"{severity} ({', '.join(words[:NAMED])}{more})" if words else severity) + "".join(stiff)


def _fault_words(one: LeftFault) -> str:
    return f"{one.words} {figure_words(one.value, one.unit, digits=_digits(one.fault))}"


def _digits(fault: str) -> int:
    return FAULT_OF["hard" if fault == STIFF else fault].digits


def change_words(changes: Sequence[TriedChange]) -> str:
    """The first few changes: `stretched from 62 % (grave) to 12 % (slight)`."""
    words = [
        f"{one.words} from {_amount(one, one.before)} ({one.severity_before}) to "
        f"{_amount(one, one.after)} ({one.severity_after})"
        for one in changes[:NAMED]
    ]
    more = len(changes) - len(words)
    return ", ".join(words) + (f", and {more} more" if more > 0 else "")


def way_words(way: TriedWay) -> str:
    """What a way changes, and at what price."""
    price = f"; but {change_words(way.price)}" if way.price else ""
    return f"{change_words(way.changes)}{price}"


def _amount(one: TriedChange, value: float) -> str:
    return figure_words(value, one.unit, digits=_digits(one.fault))


def _lines(one: SuggestedGarment) -> str:
    return ", ".join(f"{line.key} = {line.value}" for line in one.lines)


def where_words(way: TriedWay) -> str:
    """The shape that shows what a way makes graver, with its stance."""
    return ", ".join(word for word in (way.shape, way.stance) if word) or NOTHING


def _stances(told: StoredSuggestions) -> str:
    return f"at rest and {counted(len(told.stances), 'stance')}" if told.stances else "at rest"
