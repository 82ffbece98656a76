"""Garments of the page: what each is, its verdict, and how it is shown."""

from collections.abc import Sequence
from dataclasses import dataclass

from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES
from dressform.faults.words import FAULT_WORDS, figure_words, reading_of
from dressform.formats.results.check_report import GarmentReport
from dressform.formats.results.page.charts import GarmentCharts
from dressform.formats.results.page.garments import GarmentAbout, SettingsAbout
from dressform.report.page.bare import bare_name
from dressform.report.page.charts import fault_values
from dressform.report.page.shapes import PageShape, shape_index
from dressform.report.pictures.faults import gravest_fault
from dressform.report.tables.at_base import base_sentences
from dressform.report.tables.check import row_words
from dressform.report.tables.worn_together import garment_lines


@dataclass(frozen=True)
class PageGarment:
    """What the page shows of one garment in addition to its report.

    Attributes:
        colours: One "#rrggbb" per part; empty where unknown.
        worn: Whether it is worn when the page opens.
        charts: Its charts, or None where there are none.
        variant_of: Key of the garment that this is another version of; empty for none.
        variant: How it differs from other versions, or empty.
        revision: Grows with every edit.
        settings: How it follows now, or None in a report.
    """

    colours: tuple[str, ...] = ()
    worn: bool = True
    charts: GarmentCharts | None = None
    variant_of: str = ""
    variant: str = ""
    revision: int = 0
    settings: SettingsAbout | None = None


def verdict_line(garment: GarmentReport, morphs: Sequence[str]) -> str:
    """One line: how many shapes fail, which is worst, and by what."""
    rows = garment.rows
    if not rows:
        return "not checked yet"
    looked = "the one shape looked at" if len(rows) == 1 else f"all {_counted(garment)} looked at"
    if garment.severity == SEVERITIES[0]:
        return f"clean at {looked}"
    worst = garment.worst_first()[0]
    fault = gravest_fault(worst.faults)
    if FAULT_OF[fault].is_constant:
        return base_sentences(worst.faults)[0]
    value, unit = fault_values(worst.faults)[fault], reading_of(fault, 0.0)[1]
    count = sum(row.faults.severity == garment.severity for row in rows)
    wrong = sum(row.faults.severity in SEVERITIES[2:] for row in rows)
    also = f" (moderate or worse at {wrong})" if wrong > count else ""
    words = row_words(worst, morphs)
    weights = words if words == worst.label or "=" in worst.label else words[len(worst.label) + 2 : -1]
    weights = f"{worst.stance}, {weights}" if worst.stance else weights
    return (
        f"{garment.severity} at {count} of {_counted(garment)}{also}; at its worst ({weights}): "
        f"{FAULT_WORDS[fault]}, {figure_words(value, unit)}"
    )


def _counted(garment: GarmentReport) -> str:
    """How many shapes it was looked at on, and how many of them were at stances."""
    count, still = len(garment.rows), len(garment.at_rest.rows)
    return f"{count} shapes" if count == still else f"{count} shapes ({count - still} of them at stances)"


def page_garment(
    one: GarmentReport, beside: PageGarment, shapes: Sequence[PageShape], morphs: Sequence[str]
) -> GarmentAbout:
    """A garment in the page's form.

    Args:
        one: What was found.
        beside: What is shown in addition.
        shapes: Every shape of the page.
        morphs: Names of the body's morphs.
    """
    return GarmentAbout(
        key=one.key,
        name=one.name,
        file=bare_name(one.source.file),
        sha256=one.source.sha256,
        vertices=one.vertices,
        triangles=one.triangles,
        parts=one.parts,
        severity=one.severity if one.rows else "",
        verdict=verdict_line(one, morphs),
        worst=shape_index(shapes, one.at_rest.worst_first()[0].faults.weights) if one.rows else None,
        method=one.method,
        ease=one.ease,
        colours=beside.colours,
        worn=beside.worn,
        notes=_notes(one, morphs),
        variant_of=beside.variant_of,
        variant=beside.variant,
        revision=beside.revision,
        settings=beside.settings,
    )


def _notes(one: GarmentReport, morphs: Sequence[str]) -> tuple[str, ...]:
    """What is wrong before anything moves, what layers do, and what was untidy in the file."""
    if not one.rows:
        return one.notes
    return (*base_sentences(one.rows[0].faults), *map(str.strip, garment_lines(one, morphs)), *one.notes)
