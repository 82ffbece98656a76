"""A comparison as tables: over the wardrobe, what got graver and what got better, what is new and gone."""

from collections.abc import Sequence

import numpy as np
from rich.console import Console
from rich.text import Text

from dressform.faults.words import FAULT_WORDS
from dressform.formats.results.compare_schema import (
    ComparedGarment,
    ComparedMeasure,
    ComparedPlace,
    StoredComparison,
    StoredComparisons,
)
from dressform.report.tables.check import NOTHING, label_words
from dressform.report.tables.whole_table import WholeTable
from dressform.units import PERCENT, counted

LISTED = 8
NAMED_ROWS = 3
"""So many rows are named that one side alone has."""
VERDICT_STYLES = {"better": "green", "worse": "bold red", "no difference": ""}


def print_comparison(told: StoredComparison, console: Console) -> None:
    """Print a comparison: the verdict per measure first, then the largest losses and gains, then places."""
    names = {one.garment for one in told.garments} | set(told.missing)
    console.print(outcome_sentence(told), style="bold")
    console.print(f"{told.second} against {told.first}, on {told.body}: {counted(told.rows, 'row')} that both have")
    for one, other in told.paired.items():
        console.print(f"note: {one} of {told.first} is compared with {other} of {told.second}")
    for name, (one, other) in told.differing.items():
        console.print(f"note: {name}: {told.first} {one}, {told.second} {other}")
    for name in sorted(names & set(told.missing)):
        console.print(f"note: {name} is on the side of {told.missing[name]} alone")
    console.print()
    console.print(wardrobe_table(told))
    if told.unpaired:
        console.print()
        console.print(unpaired_table(told))
    for title, found in (("What got graver", told.losses), ("What got better", told.gains)):
        if found:
            console.print()
            console.print(garments_table(f"{title}, the largest first", found, told.measures))
    for title, places in ((f"New on the side of {told.second}", told.new), ("Gone", told.gone)):
        if places:
            console.print()
            console.print(places_compared(f"{title}: moderate or grave", places))


def unpaired_table(told: StoredComparison) -> WholeTable:
    """Rows that one side alone has, by garment: what was lost counts for nothing in the table above."""
    table = WholeTable("Rows that one side alone has, which count for nothing")
    table.add_column("garment", overflow="fold")
    for heading in ("both", told.first, told.second):
        table.add_column(heading if heading == "both" else f"only {heading}", justify="right", overflow="fold")
    table.add_column("of which", overflow="fold")
    for one in told.unpaired:
        alone = [words for words in (rows_words(one.first, told.first), rows_words(one.second, told.second)) if words]
        table.add_row(one.garment, str(one.both), str(len(one.first)), str(len(one.second)), "; ".join(alone))
    return table


def rows_words(labels: Sequence[str], side: str) -> str:
    """The first few rows that only one side has; empty where there are none."""
    more = f" and {len(labels) - NAMED_ROWS} more" if len(labels) > NAMED_ROWS else ""
    return f"only {side}: {'; '.join(labels[:NAMED_ROWS])}{more}" if labels else ""


def wardrobe_table(told: StoredComparison) -> WholeTable:
    """One line per measure: means over the garments of the worst value, the change with its interval, the verdict."""
    table = WholeTable("Over the wardrobe: means of each garment's worst value; a change below 0 is better")
    table.add_column("measure", overflow="fold")
    for heading in ("garments", told.first, told.second, "change", "95 % interval", "better", "worse"):
        table.add_column(heading, justify="right", overflow="fold")
    table.add_column("verdict")
    for one in told.measures:
        if not (one.before or one.after):  # nothing on either side
            continue
        interval = NOTHING if one.low is None or one.high is None else f"{one.low:+.1f} to {one.high:+.1f}"
        table.add_row(
            f"{one.words}, {one.unit}" if one.unit else one.words,
            str(one.garments),
            f"{one.before:.1f}",
            f"{one.after:.1f}",
            f"{one.change:+.1f}",
            interval,
            str(one.better),
            str(one.worse),
            Text(one.verdict, style=VERDICT_STYLES[one.verdict]),
        )
    return table


def garments_table(title: str, found: Sequence[ComparedGarment], measures: Sequence[ComparedMeasure]) -> WholeTable:
    """Garments and measures, the first few."""
    words = {one.measure: (one.words, one.unit) for one in measures}
    table = WholeTable(title if len(found) <= LISTED else f"{title}: {LISTED} of {len(found)}")
    for heading in ("garment", "measure"):
        table.add_column(heading, overflow="fold")
    for heading in ("before", "after", "change"):
        table.add_column(heading, justify="right")
    for heading in ("was", "is", "differs most at"):
        table.add_column(heading, overflow="fold")
    for one in found[:LISTED]:
        name, unit = words[one.measure]
        table.add_row(
            one.garment,
            f"{name}, {unit}" if unit else name,
            f"{one.before:.1f}",
            f"{one.after:.1f}",
            f"{one.change:+.1f}",
            one.severity_before or NOTHING,
            one.severity_after or NOTHING,
            _shape_words(one),
        )
    return table


def _shape_words(one: ComparedGarment) -> str:
    shape = label_words(one.shape, np.array(list(one.weights.values())), tuple(one.weights))
    return f"{shape}, {one.stance}" if one.stance else shape


def places_compared(title: str, places: Sequence[ComparedPlace]) -> WholeTable:
    """Places that one side alone has, the first few."""
    table = WholeTable(title if len(places) <= LISTED else f"{title}: {LISTED} of {len(places)}")
    for heading in ("garment", "fault", "where", "verdict"):
        table.add_column(heading, overflow="fold")
    table.add_column("worst", justify="right")
    table.add_column("at", overflow="fold")
    for one in places[:LISTED]:
        where = ", ".join(word for word in (one.part, one.region, one.side) if word)
        table.add_row(
            one.garment,
            FAULT_WORDS[one.fault],
            where or NOTHING,
            one.severity,
            f"{one.value:.4g} {one.unit}".strip(),
            f"{one.shape}, {one.stance}" if one.stance else one.shape,
        )
    return table


def outcome_sentence(told: StoredComparison) -> str:
    """What a gate says: whether anything got graver, or a garment is no longer there."""
    limit = gate_words(told)
    lost = f"LOST: {told.second} has nothing of {', '.join(told.lost)}. " if told.lost else ""
    if not told.losses:
        alone = told.unpaired_first
        beside = f" on {told.rows} of {counted(told.rows + alone, 'row')} of {told.first}" if alone else ""
        return f"{lost}Nothing got graver by more than {limit}{beside}."
    garments = len({one.garment for one in told.losses})
    count = counted(len(told.losses), "measure")
    return f"{lost}GRAVER: {count} of {counted(garments, 'garment')} by more than {limit}, or by a grade."


def gate_words(told: StoredComparison) -> str:
    """What may grow by how much: `5 % (skin shows 2 cm², cloth deep in the body 1 mm)`."""
    units = {one.measure: (one.words, one.unit) for one in told.measures}
    own = ", ".join(f"{units[key][0]} {limit:g} {units[key][1]}".strip() for key, limit in told.limits.items())
    return f"{told.tolerance * PERCENT:g} %" + (f" ({own})" if own else "")


def print_comparisons(told: StoredComparisons, console: Console) -> None:
    """Print one comparison, or of several first which side wins where."""
    if len(told.pairs) > 1:
        outcomes = (f"{one.second} against {one.first}: {outcome_sentence(one)}" for one in told.pairs)
        console.print(" ".join(outcomes), style="bold")
        console.print(winners_table(told))
        console.print()
    for number, pair in enumerate(told.pairs):
        if number:
            console.print()
        print_comparison(pair, console)


def winners_table(told: StoredComparisons) -> WholeTable:
    """Per measure and garment the worst value on each side; a star marks the least, and what is no worse."""
    table = WholeTable("Which side wins where: the worst value over the shapes; * the least, and all no worse than it")
    for heading in ("measure", "garment"):
        table.add_column(heading, overflow="fold")
    for side in told.sides:
        table.add_column(side, justify="right", overflow="fold")
    for measure, garment, values, wins in winners(told):
        cells = [f"{value:.1f}{'*' if won else ' '}" for value, won in zip(values, wins)]
        table.add_row(f"{measure.words}, {measure.unit}" if measure.unit else measure.words, garment, *cells)
    return table


def winners(
    told: StoredComparisons,
) -> list[tuple[ComparedMeasure, str, tuple[float, ...], tuple[bool, ...]]]:
    """Per measure and garment: the worst value on each side, and which sides are no worse than the best.

    A side is no worse where it differs from the least by no more than what counts for the measure.
    """
    lines = []
    for measure in told.pairs[0].measures:
        by_garment: dict[str, list[float]] = {}
        for number, pair in enumerate(told.pairs):
            for one in pair.garments:
                if one.measure == measure.measure:
                    values = by_garment.setdefault(one.garment, [one.before] * len(told.sides))
                    values[number + 1] = one.after
        for garment, values in sorted(by_garment.items()):
            least = min(values)
            wins = tuple(value <= least + measure.counts_from for value in values)
            lines.append((measure, garment, tuple(values), wins))
    return lines
