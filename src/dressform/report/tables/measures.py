"""Tape measures as a table and as JSON."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from dressform.body.body import Body
from dressform.body.measure import Measure, Measures
from dressform.body.shapes import label_of
from dressform.body.tape_fit import RequestedMeasure, TapeFit
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM_PER_M, MM_PER_M

MEASURES_SCHEMA_NAME = "dressform-measures/1"
MM_DECIMALS = 2


def measures_table(measures: Measures) -> WholeTable:
    """The measures that could be taken, in cm."""
    table = WholeTable(f"{measures.body} at {measures.label}")
    table.add_column("measure")
    table.add_column("cm", justify="right")
    table.add_column("tape at\ncm", justify="right")
    table.add_column("defined by")
    table.add_column("note", overflow="fold")
    for row in measures.rows:
        table.add_row(row.name, _cm(row.value), _cm(row.height), row.iso, row.note)
    return table


def tape_table(body: Body, fit: TapeFit) -> WholeTable:
    """The shape found for the given measures, and the differences left, in cm."""
    title = f"{body.name}, nearest reachable shape: {label_of(body.range, fit.weights)}"
    table = WholeTable(title)
    for heading in ("asked", "cm", "got", "missed by"):
        table.add_column(heading, justify="left" if heading == "asked" else "right")
    table.add_column("note", overflow="fold")
    for row in fit.rows:
        missed = "" if row.met else "–" if row.missed is None else f"{row.missed * CM_PER_M:+.1f}"
        table.add_row(row.name, _cm(row.asked), _cm(row.got), missed, row.note)
    return table


def measures_json(
    file: str, named: Mapping[str, float], taken: Sequence[Measures], *, found: Sequence[TapeFit] = ()
) -> str:
    """The measures of every base body of a file as JSON text: at one set of weights, or each at the shape found."""
    bodies = [_body(measures) for measures in taken]
    for body, fit in zip(bodies, found):
        weights = {name: float(weight) for name, weight in zip(fit.morph_names, fit.weights) if weight}
        body["found"] = {"weights": weights, "met": fit.met, "asked": [_asked(row) for row in fit.rows]}
    document = {"schema": MEASURES_SCHEMA_NAME, "file": file, "weights": dict(named), "bodies": bodies}
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _body(measures: Measures) -> dict[str, Any]:
    return {"name": measures.body, "measures": [_plain(row) for row in measures.rows]}


def _asked(row: RequestedMeasure) -> dict[str, object]:
    return {"name": row.name, "asked_mm": _mm(row.asked), "got_mm": _mm(row.got), "met": row.met, "note": row.note}


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
