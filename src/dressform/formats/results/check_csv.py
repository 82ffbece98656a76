"""A check as flat tables for a spreadsheet: a row per garment, way and shape, and a row per cluster with its cause."""

import csv
import io
from collections.abc import Sequence
from typing import Any

from dressform.formats.results.check_json import results
from dressform.formats.results.check_report import CheckReport

CLUSTER_FIELDS = (
    "name", "fault", "severity", "value", "unit", "region", "part", "side", "height_mm", "area_cm2", "cause", "owner",
)  # fmt: skip
"""What a row of clusters takes over from the JSON as it is."""


def results_csv(report: CheckReport) -> str:
    """CSV text, the worst garment and shape first; the same figures as in the JSON, without places and maps."""
    rows = []
    for garment in results(report)["garments"]:
        for shape in garment["shapes"]:
            row = {
                "garment": garment["name"],
                "lift": garment["lift"],
                "shape": shape["label"],
                "severity": shape["severity"],
            }
            for group in ("show_through", "pucker", "stretch", "clearance_change", "broken"):
                flat = {key: value for key, value in shape[group].items() if not isinstance(value, dict)}
                row |= {f"{group}.{key}": value for key, value in flat.items()}
            row |= {f"severity.{fault}": severity for fault, severity in shape["severities"].items()}
            rows.append({**row, "ms": shape["ms"]})
    return _csv(list(rows[0]), rows)


def clusters_csv(report: CheckReport) -> str:
    """CSV text: one row per cluster with its cause and advice, the worst garment and the most noticed place first."""
    rows = []
    for garment in results(report)["garments"]:
        for cluster in garment["clusters"]:
            advice = cluster["advice"] or dict.fromkeys(("where", "what", "repair"), "")
            rows.append(
                {"garment": garment["name"], "lift": garment["lift"]}
                | {name: cluster[name] for name in CLUSTER_FIELDS}
                | {"shape": cluster["seen"][0]["label"], "share": _largest_share(cluster), **advice}
            )
    headings = ("garment", "lift", *CLUSTER_FIELDS, "shape", "share", "where", "what", "repair")
    return _csv(headings, rows)


def _largest_share(cluster: dict[str, Any]) -> float:
    return max((float(share["share"]) for share in cluster["shares"]), default=0.0)


def _csv(headings: Sequence[str], rows: list[dict[str, Any]]) -> str:
    stream = io.StringIO()
    writer = csv.DictWriter(stream, fieldnames=list(headings), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()
