"""The figures behind the page's charts as tables, for print and for reading without scripts."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rich.table import Table

from dressform.faults.words import FAULT_WORDS
from dressform.formats.results.page.about import About
from dressform.formats.results.page.charts import ClearanceChart, PairsChart, SliderCurve
from dressform.report.html.templates import figure
from dressform.report.tables.check import NOTHING, short
from dressform.units import PERCENT

BOUNDS = (0.0, 10.0, 20.0, 40.0)
"""Clearances between which the cloth's area is told, mm: bounds of bins of every width; see `clearance_edges`."""
NOT_MEASURED = "–"
TIMES = ("set-up ms", "a shape ms")
"""Columns for whoever runs the program; no reader of a report needs them."""


@dataclass(frozen=True)
class TemplateTable:
    """A table in the form that the templates use.

    Attributes:
        title: What it shows.
        headings: One per column.
        right: Whether a column holds figures.
        rows: Cells.
        is_large: Whether it has a column for every slider, too many for paper.
    """

    title: str
    headings: tuple[str, ...]
    right: tuple[bool, ...]
    rows: tuple[tuple[str, ...], ...]
    is_large: bool = False


@dataclass(frozen=True)
class GarmentTables:
    """The tables of one garment over the range."""

    name: str
    tables: tuple[TemplateTable, ...]


def cells_of(table: Table) -> TemplateTable:
    """A table of the command line."""
    return TemplateTable(
        str(table.title),
        tuple(str(column.header).replace("\n", " ") for column in table.columns),
        tuple(column.justify == "right" for column in table.columns),
        tuple(zip(*(tuple(str(cell) for cell in column.cells) for column in table.columns))),
    )


def telling(table: TemplateTable) -> TemplateTable:
    """The same without columns of figures that are all nothing, or of several rows all the same."""
    said = [
        number
        for number, is_figure in enumerate(table.right)
        if table.headings[number] not in TIMES and _tells([row[number] for row in table.rows], is_figure)
    ]
    return TemplateTable(
        table.title,
        tuple(table.headings[number] for number in said),
        tuple(table.right[number] for number in said),
        tuple(tuple(row[number] for number in said) for row in table.rows),
    )


def _tells(cells: Sequence[str], is_figure: bool) -> bool:
    """Whether cells say more than nothing; figures, where there are several, also more than one thing."""
    if not is_figure:
        return any(cell not in ("", NOTHING) for cell in cells)
    return any(map(_is_more, cells)) and (len(cells) == 1 or len(set(cells)) > 1)


def _is_more(text: str) -> bool:
    """Whether a cell says more than that there is nothing."""
    return any(letter in "123456789" for letter in text)


def chart_tables(about: About) -> list[GarmentTables]:
    """The tables of every garment that has charts."""
    sliders, found = [slider.name for slider in about.sliders], []
    for garment in about.garments:
        charts = about.charts.get(garment.key)
        if charts is None:
            continue
        fault, unit = charts.pairs.fault, charts.pairs.unit
        tables = [
            slider_table(charts.weights, fault, unit),
            None if charts.clearance is None else clearance_table(charts.clearance),
            pairs_table(charts.pairs, sliders),
        ]
        found.append(GarmentTables(garment.name, tuple(one for one in tables if one is not None)))
    return found


def slider_table(curves: dict[str, SliderCurve], fault: str, unit: str) -> TemplateTable | None:
    """One fault along each slider, the others at the base, worst slider first.

    Sliders along which there is none of it are left out; None where that is all of them, or none makes a difference.
    """
    told = [(name, curve.at, curve.values[fault]) for name, curve in curves.items() if fault in curve.values]
    rows = []
    for name, at, values in sorted(told, key=lambda one: -max(one[2], default=0.0)):
        most = max(range(len(values)), key=values.__getitem__)
        ends = [figure(value, unit) for value in (values[0], values[most], values[-1])]
        if values[most] > 0.0 and ends[1] != figure(0.0, unit):
            rows.append((name, *ends, short(at[most])))
    if len({end for _, *ends, _ in rows for end in ends}) < 2:
        return None
    title = f"{FAULT_WORDS[fault]} along each slider, the others at the base"
    headings = ("slider", "at its low end", "at most", "at its high end", "most at weight")
    return TemplateTable(title, headings, (False, True, True, True, True), tuple(rows))


def clearance_table(clearance: ClearanceChart) -> TemplateTable:
    """Shares of the cloth's area by its distance from the skin."""
    between = (f"{low:g} to {high:g} mm" for low, high in pairwise(BOUNDS))
    words = ["in the body", *between, f"over {BOUNDS[-1]:g} mm"]
    series = (
        ("as modelled, base body", clearance.base),
        ("as it follows, worst shape", clearance.before),
        ("repaired, worst shape", clearance.after),
    )
    rows = tuple((name, *_shares(clearance.edges, shares)) for name, shares in series if shares is not None)
    title = "How far from the skin the cloth lies, by share of its area"
    return TemplateTable(title, ("", *words), (False, *(True for _ in words)), rows)


def pairs_table(pairs: PairsChart, sliders: Sequence[str]) -> TemplateTable | None:
    """One fault with two sliders away from the base, one alone on the diagonal; None where no pair was measured."""
    count = range(len(sliders))
    used = [row for row in count if any(pairs.values[row][column] is not None for column in count if column != row)]
    if len(used) < 2:
        return None
    rows = tuple(
        (sliders[row], *(_cell(pairs.values[row][column]) if column <= row else "" for column in used)) for row in used
    )
    unit = f", {pairs.unit}" if pairs.unit else ""
    title = f"{FAULT_WORDS[pairs.fault]}{unit}, two sliders at their worse ends"
    headings, right = ("", *(sliders[column] for column in used)), (False, *(True for _ in used))
    return TemplateTable(title, headings, right, rows, is_large=True)


def _shares(edges: Sequence[float], shares: Sequence[float]) -> list[str]:
    """Shares between `BOUNDS`, below the first and above the last, per cent."""
    sums = [0.0] * (len(BOUNDS) + 1)
    for low, share in zip(edges, shares):
        sums[sum(low >= bound for bound in BOUNDS)] += share
    return [f"{PERCENT * one:.1f} %" for one in sums]


def _cell(value: float | None) -> str:
    return NOT_MEASURED if value is None else short(value)
