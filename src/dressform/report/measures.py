"""Tape measures as a table and as JSON."""

import json
from collections.abc import Mapping, Sequence

from rich.table import Table

from dressform.body.measure import Measure, Measures
from dressform.report.units import CM_PER_M, MM_PER_M

MEASURES_SCHEMA_NAME = "dressform-measures/1"
MM_DECIMALS = 2


def measures_table(measures: Measures) -> Table:
    """What could be taken, in cm."""
    table = Table(title=f"{measures.body} at {measures.label}", title_justify="left", title_style="bold", box=None)
    table.add_column("measure")
    table.add_column("cm", justify="right")
    table.add_column("tape at\ncm", justify="right")
    table.add_column("defined by")
    table.add_column("note", overflow="fold")
    for row in measures.rows:
        table.add_row(row.name, _cm(row.value), _cm(row.height), row.iso, row.note)
    return table


def measures_json(file: str, named: Mapping[str, float], taken: Sequence[Measures]) -> str:
    """The measures of every base shape of a file at one set of weights, as JSON text."""
    bodies = [{"name": measures.body, "measures": [_plain(row) for row in measures.rows]} for measures in taken]
    document = {"schema": MEASURES_SCHEMA_NAME, "file": file, "weights": dict(named), "bodies": bodies}
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(row: Measure) -> dict[str, object]:
    return {
        "name": row.name,
        "definition": row.iso,
        "mm": _mm(row.value),
        "height_mm": _mm(row.height),
        "note": row.note,
    }


def _cm(value: float | None) -> str:
    return "–" if value is None else f"{value * CM_PER_M:.1f}"


def _mm(value: float | None) -> float | None:
    return None if value is None else round(value * MM_PER_M, MM_DECIMALS)
