"""Prints a report for people."""

from collections.abc import Sequence

from rich.console import Console

from dressform.faults.results import SEVERITIES
from dressform.formats.results.check_report import CheckReport, GarmentReport
from dressform.report.tables.actions import ACTIONS_SHOWN, UNCAUSED_SHOWN, actions_table, uncaused_table
from dressform.report.tables.at_base import base_sentences
from dressform.report.tables.check import (
    PLACES_SHOWN,
    SHAPES_SHOWN,
    overall_sentences,
    places_table,
    shapes_table,
    summary_table,
    verdict_line,
    worst_places,
)
from dressform.report.tables.clusters import CLUSTERS_SHOWN, SHARED_SHOWN, clusters_table, shared_table
from dressform.report.tables.stances import STANCES_SHOWN, stance_sentence, stances_table
from dressform.report.tables.text import told_once
from dressform.report.tables.worn_together import outfit_lines
from dressform.units import counted

EVERY = 10**9
"""More than any list holds."""


def print_summary(report: CheckReport, console: Console, *, notes: Sequence[str] = ()) -> None:
    """Print the verdict, the body, what was untidy, and one line per garment.

    Args:
        report: What was found.
        console: Where to.
        notes: What must be known of the stances.
    """
    body = report.body
    console.print(f"{verdict_line(report)}.", style="bold")
    joints = f", {counted(len(body.joint_sliders), 'slider')} that move joints" if body.joint_sliders else ""
    console.print(
        f"{body.name}: {body.vertices} vertices, {body.stature:.2f} m tall, {counted(len(body.intervals), 'morph')}"
        f"{joints}; checked in {report.seconds:.0f} s"
    )
    told: dict[str, list[str]] = {}
    for name, note in told_once([(body.name, body.notes), *((one.name, one.notes) for one in _named_once(report))]):
        told.setdefault(name, []).append(note)
    for name, own in told.items():
        console.print(f"note: {name}: {' '.join(own)}")
    for note in notes:
        console.print(f"note: stances: {note}")
    console.print()
    at_base = [(one.name, line) for one in _named_once(report) for line in base_sentences(one.rows[0].faults)]
    for name, line in at_base:
        console.print(f"{name}: {line}")
    if at_base:
        console.print()
    console.print(summary_table(report, width=console.width))
    for failed in report.failed:
        console.print(failed.sentence)


def print_report(report: CheckReport, console: Console, *, notes: Sequence[str] = (), whole: bool = False) -> None:
    """Print the summary, then for each garment that is not clean its worst shapes, places and causes.

    Where causes were sought, they and the advice stand at each place. Where several methods are compared, the
    places are left to the other outputs.

    Args:
        report: What was found.
        console: Where to.
        notes: What must be known of the stances.
        whole: Print every shape, place and action instead of the first few of each.
    """
    print_summary(report, console, notes=notes)
    print_findings(report, console, most=EVERY if whole else None)


def print_findings(report: CheckReport, console: Console, *, most: int | None = None) -> None:
    """Print what stands below the summary in `print_report`: of each list its first few, or as many as `most`."""
    between = outfit_lines(report)
    if between:
        console.print()
        console.print("Worn together:")
        for line in between:
            console.print(line)
    print_at_stances(report, console, most or STANCES_SHOWN)
    compared = len({garment.method for garment in report.garments}) > 1
    morphs = tuple(report.body.intervals)
    for garment in report.worst_first():
        if garment.severity != SEVERITIES[0]:
            console.print()
            console.print(shapes_table(garment, morphs, shown=most or SHAPES_SHOWN, width=console.width))
        if not compared:
            _print_places(report, garment, console, most)
    if report.shared and not compared:
        console.print()
        console.print(shared_table(report.shared, shown=most or SHARED_SHOWN))


def print_at_stances(report: CheckReport, console: Console, most: int = STANCES_SHOWN) -> None:
    """Print what was found at stances: a line per garment, then a table of those that are not clean."""
    if not any(garment.stances for garment in report.garments):
        return
    morphs = tuple(report.body.intervals)
    console.print()
    for garment in report.worst_first():
        console.print(stance_sentence(garment, morphs))
    table = stances_table(report, shown=most)
    if table.row_count:
        console.print()
        console.print(table)


def _print_places(report: CheckReport, garment: GarmentReport, console: Console, most: int | None) -> None:
    """Places with their causes, without them where causes were not sought; then what is wrong of the whole."""
    morphs = tuple(report.body.intervals)
    explained = report.explained(garment)
    actions = report.actions(garment)
    without = uncaused_table(garment, explained, morphs, shown=most or UNCAUSED_SHOWN) if actions else None
    tables = [actions_table(garment, actions, explained, morphs, shown=most or ACTIONS_SHOWN)] if actions else []
    tables += [without] if without is not None else []
    if explained and not actions:
        tables.append(clusters_table(garment, explained, morphs, shown=most or CLUSTERS_SHOWN))
    if not explained and garment.severity != SEVERITIES[0] and worst_places(garment):
        tables.append(places_table(garment, morphs, shown=most or PLACES_SHOWN))
    for table in tables:
        console.print()
        console.print(table)
    for sentence in overall_sentences(garment, morphs):
        console.print(sentence)


def _named_once(report: CheckReport) -> list[GarmentReport]:
    """Each garment once, whatever the number of methods."""
    return list({garment.name: garment for garment in report.garments}.values())
