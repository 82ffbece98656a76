"""The folder of results: JSON, tables and pictures, whole or not at all."""

from dataclasses import replace
from pathlib import Path

from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_csv import clusters_csv, results_csv
from dressform.formats.results.check_json import results_json
from dressform.jobs.check_result import CheckResult
from dressform.jobs.pictures import draw_pictures
from dressform.jobs.progress import Progress
from dressform.report.tables.printing import print_report
from dressform.report.tables.text import WIDE_WIDTH, printed_text

RESULTS_JSON = "results.json"
SHAPES_CSV = "shapes.csv"
CLUSTERS_CSV = "clusters.csv"
SUMMARY = "summary.txt"


def write_results(result: CheckResult, target: Path, *, progress: Progress | None = None) -> None:
    """Write everything that a check found.

    Raises:
        FileError: the folder cannot be written; nothing is left half-written.
    """
    with whole_folder(target) as folder:
        pictures = draw_pictures(result, folder, progress)
        report = replace(result.report, pictures=pictures)
        summary = printed_text(lambda console: print_report(report, console), width=WIDE_WIDTH)
        for name, text in (
            (RESULTS_JSON, results_json(report)),
            (SHAPES_CSV, results_csv(report)),
            (CLUSTERS_CSV, clusters_csv(report)),
            (SUMMARY, f"{summary}\n"),
        ):
            (folder / name).write_text(text, encoding="utf-8")
