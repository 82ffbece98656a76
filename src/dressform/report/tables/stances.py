"""Tables and sentences about stances: which one is worst for a garment, on which shape, and by what."""

from collections.abc import Sequence

from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import graded_values
from dressform.faults.words import FAULT_WORDS, amount_words
from dressform.formats.results.check_report import CheckReport, GarmentReport, ShapeRow
from dressform.report.tables.check import SHAPE_WIDTH, blamed, row_words, verdict, where
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM2_PER_M2, PERCENT, counted

STANCES_SHOWN = 8
"""So many stances of one garment that are not clean are listed, the worst first."""


def stances_first(garment: GarmentReport) -> list[tuple[str, ShapeRow]]:
    """Each stance with its worst row, the worst first."""
    worst = {name: max(rows, key=lambda row: row.badness) for name, rows in garment.stances.items()}
    return sorted(worst.items(), key=lambda pair: pair[1].badness, reverse=True)


def stance_sentence(garment: GarmentReport, morphs: Sequence[str]) -> str:
    """The worst that a garment does at any stance, in one line; nothing where no stance was asked for."""
    ranked = stances_first(garment)
    if not ranked:
        return ""
    name, row = ranked[0]
    moving = {key: grade for key, grade in row.faults.severities.items() if not FAULT_OF[key].is_constant}
    grade = max(moving.values(), key=SEVERITIES.index)
    if grade == SEVERITIES[0]:
        beside = "" if row.faults.severity == grade else ", but for what is wrong at the base"
        return f"{garment.name}: clean at {counted(len(ranked), 'stance')}{beside}"
    fault = next(fault for fault, severity in moving.items() if severity == grade)
    amount = amount_words(fault, graded_values(row.faults)[fault])
    shape = row_words(row, morphs)
    return f"{garment.name} {grade}: {FAULT_WORDS[fault]}, {amount}, at {name}, shape {shape}"


def stances_table(report: CheckReport, *, shown: int = STANCES_SHOWN) -> WholeTable:
    """A line per garment and stance: the worst shape there, what is seen, what lies inside, and what is contact."""
    table = WholeTable("At stances, the worst first: each at its worst shape; contact is told and never graded")
    for heading in ("garment", "stance", "verdict", "for"):
        table.add_column(heading, overflow="fold")
    for heading in ("skin shows\ncm²", "inside\n%", "contact\ncm²", "shapes\nfaulty"):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("at shape", overflow="fold", max_width=SHAPE_WIDTH)
    table.add_column("where", overflow="fold")
    morphs, hidden = tuple(report.body.intervals), 0
    for garment in report.worst_first():
        ranked = [pair for pair in stances_first(garment) if pair[1].faults.severity != SEVERITIES[0]]
        hidden += max(len(ranked) - shown, 0)
        for name, row in ranked[:shown]:
            table.add_row(garment.name, name, verdict(row.faults.severity), blamed([row]), *_figures(garment, name),
                          row_words(row, morphs), _where(row))  # fmt: skip
    if hidden:
        table.caption = f"and {hidden} more that are not clean, for --verbose; any other stance is clean"
    return table


def _figures(garment: GarmentReport, stance: str) -> tuple[str, str, str, str]:
    """The worst of each figure at one stance, and at how many of its shapes the garment is faulty."""
    rows = garment.stances[stance]
    through = [row.faults.show_through for row in rows]
    faulty = sum(row.faults.severity in SEVERITIES[2:] for row in rows)
    return (
        f"{max(one.exposed_area for one in through) * CM2_PER_M2:.1f}",
        f"{max(one.inside_share for one in through) * PERCENT:.2f}",
        f"{max(one.contact_area for one in through) * CM2_PER_M2:.0f}",
        f"{faulty}/{len(rows)}",
    )


def _where(row: ShapeRow) -> str:
    """The gravest place of a row."""
    return where(row.faults.places[0]) if row.faults.places else ""
