"""The folder of results: JSON, tables and pictures, whole or not at all."""

import io
from dataclasses import replace
from pathlib import Path

from rich.console import Console

from dressform.cli.checking import Checked
from dressform.cli.console import PLAIN_WIDTH, Advance
from dressform.cli.pictures import draw_pictures
from dressform.cli.printing import print_report
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_csv import clusters_csv, results_csv
from dressform.formats.results.check_json import results_json

RESULTS_JSON = "results.json"
SHAPES_CSV = "shapes.csv"
CLUSTERS_CSV = "clusters.csv"
SUMMARY = "summary.txt"


def write_results(checked: Checked, target: Path, advance: Advance) -> None:
    """Write everything that a check found.

    Raises:
        FileError: the folder cannot be written; nothing is left half-written.
    """
    with whole_folder(target) as folder:
        pictures = draw_pictures(checked, folder, advance)
        report = replace(checked.report, pictures=pictures)
        summary = io.StringIO()
        print_report(report, Console(file=summary, width=PLAIN_WIDTH, highlight=False))
        for name, text in (
            (RESULTS_JSON, results_json(report)),
            (SHAPES_CSV, results_csv(report)),
            (CLUSTERS_CSV, clusters_csv(report)),
            (SUMMARY, summary.getvalue()),
        ):
            (folder / name).write_text(text, encoding="utf-8")
