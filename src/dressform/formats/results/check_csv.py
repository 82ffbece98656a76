"""A check as flat tables for a spreadsheet: a row per garment, method and shape, and one per cluster with its cause."""

import csv
import io
from collections.abc import Sequence
from typing import Any

from dressform.formats.results.check_json import to_results
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.check_schema import StoredGarment
from dressform.formats.results.cluster_schema import StoredCluster
from dressform.formats.results.record import plain
from dressform.formats.results.shape_schema import StoredShape
from dressform.formats.results.spreadsheet import safe_row

PLACE_FIELDS = ("fault", "severity", "value", "unit", "region", "part", "side", "height_mm", "area_cm2")
"""What a row of clusters takes over from the place."""
ADVICE_FIELDS = ("where", "what", "repair")
CLUSTER_HEADINGS = ("garment", "method", "name", *PLACE_FIELDS, "cause", "owner", "shape", "share", *ADVICE_FIELDS)
FIGURES = ("show_through", "pucker", "stretch", "clearance_change", "broken")


def results_csv(report: CheckReport) -> str:
    """CSV text, the worst garment and shape first, rest before stances; as the JSON without places and maps."""
    rows = [row for garment in to_results(report).garments for row in shape_rows(garment)]
    return _csv(list(rows[0]), rows)


def clusters_csv(report: CheckReport) -> str:
    """CSV text: one row per cluster with its cause and advice, the worst garment and the most noticed place first."""
    rows = [row for garment in to_results(report).garments for row in cluster_rows(garment)]
    return _csv(CLUSTER_HEADINGS, rows)


def shape_rows(garment: StoredGarment) -> list[dict[str, Any]]:
    """One row per shape of a garment, rest before stances."""
    rows = [_shape(garment, "", shape) for shape in garment.shapes]
    return rows + [_shape(garment, stance.name, shape) for stance in garment.stances for shape in stance.shapes]


def cluster_rows(garment: StoredGarment) -> list[dict[str, Any]]:
    """One row per cluster of a garment."""
    return [_cluster(garment, one) for one in garment.clusters]


def _shape(garment: StoredGarment, stance: str, shape: StoredShape) -> dict[str, Any]:
    row = {"garment": garment.name, "method": garment.method, "stance": stance, "shape": shape.label}
    row["joints"] = " ".join(f"{name}={value:g}" for name, value in shape.joints.items())
    row["severity"] = shape.severity
    for group in FIGURES:
        figures = plain(getattr(shape, group))
        row |= {f"{group}.{key}": value for key, value in figures.items() if not isinstance(value, dict)}
    row |= {f"severity.{fault}": severity for fault, severity in shape.severities.items()}
    return {**row, "ms": shape.ms}


def _cluster(garment: StoredGarment, one: StoredCluster) -> dict[str, Any]:
    return {
        "garment": garment.name,
        "method": garment.method,
        "name": one.name,
        **{name: getattr(one.place, name) for name in PLACE_FIELDS},
        "cause": one.cause,
        "owner": one.owner,
        "shape": one.seen[0].label,
        "share": max((share.share for share in one.shares), default=0.0),
        **{name: "" if one.advice is None else getattr(one.advice, name) for name in ADVICE_FIELDS},
    }


def _csv(headings: Sequence[str], rows: list[dict[str, Any]]) -> str:
    stream = io.StringIO()
    writer = csv.DictWriter(stream, fieldnames=list(headings), lineterminator="\n")
    writer.writeheader()
    writer.writerows(map(safe_row, rows))
    return stream.getvalue()
