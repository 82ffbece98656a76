"""A check as a flat table for a spreadsheet: one row per garment, way and shape, units in the headings."""

import csv
import io

from dressform.report.check_report import CheckReport
from dressform.report.results_json import results


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
            for group in ("show_through", "crumple", "stretch", "ease", "broken"):
                flat = {key: value for key, value in shape[group].items() if not isinstance(value, dict)}
                row |= {f"{group}.{key}": value for key, value in flat.items()}
            row |= {f"severity.{fault}": severity for fault, severity in shape["severities"].items()}
            rows.append({**row, "ms": shape["ms"]})
    stream = io.StringIO()
    writer = csv.DictWriter(stream, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()
