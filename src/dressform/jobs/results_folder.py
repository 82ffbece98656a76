"""The folder of results: JSON, tables and pictures, whole or not at all."""

import io
from dataclasses import replace
from pathlib import Path

from rich.console import Console

from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_csv import clusters_csv, results_csv
from dressform.formats.results.check_json import results_json
from dressform.jobs.check_result import CheckResult
from dressform.jobs.pictures import draw_pictures
from dressform.jobs.progress import Progress
from dressform.report.tables.printing import print_report

RESULTS_JSON = "results.json"
SHAPES_CSV = "shapes.csv"
CLUSTERS_CSV = "clusters.csv"
SUMMARY = "summary.txt"
SUMMARY_WIDTH = 180
"""Characters."""


def write_results(result: CheckResult, target: Path, *, progress: Progress | None = None) -> None:
    """Write everything that a check found.

    Raises:
        FileError: the folder cannot be written; nothing is left half-written.
    """
    with whole_folder(target) as folder:
        pictures = draw_pictures(result, folder, progress)
        report = replace(result.report, pictures=pictures)
        summary = io.StringIO()
        print_report(report, Console(file=summary, width=SUMMARY_WIDTH, highlight=False))
        for name, text in (
            (RESULTS_JSON, results_json(report)),
            (SHAPES_CSV, results_csv(report)),
            (CLUSTERS_CSV, clusters_csv(report)),
            (SUMMARY, summary.getvalue()),
        ):
            (folder / name).write_text(text, encoding="utf-8")
