"""The results of a wardrobe as files, written one garment at a time: the same documents as those of a check."""

import csv
import io
import json
import textwrap
from collections.abc import Iterable, Iterator

import msgspec

from dressform.formats.results.check_csv import CLUSTER_HEADINGS, cluster_rows, shape_rows
from dressform.formats.results.check_schema import StoredGarment, StoredResults
from dressform.formats.results.record import json_text, plain
from dressform.formats.results.spreadsheet import safe_row

_NONE = ' "garments": [],\n'


def results_json_of(head: StoredResults, garments: Iterable[StoredGarment]) -> Iterator[str]:
    """Pieces of the JSON text of results, whose garments come one at a time.

    Args:
        head: The results without their garments.
        garments: The garments, the worst first.

    Proof: tests/jobs/wardrobe/test_results.py
    """
    before, after = json_text(msgspec.structs.replace(head, garments=())).split(_NONE)
    yield before + ' "garments": ['
    is_first = True
    for garment in garments:
        text = json.dumps(plain(garment), indent=1, ensure_ascii=False, allow_nan=False)
        yield ("\n" if is_first else ",\n") + textwrap.indent(text, "  ")
        is_first = False
    yield ("],\n" if is_first else "\n ],\n") + after


def shapes_csv_of(garments: Iterable[StoredGarment]) -> Iterator[str]:
    """Pieces of the CSV text with a row per garment, method and shape."""
    yield from _csv_of((row for garment in garments for row in shape_rows(garment)), None)


def clusters_csv_of(garments: Iterable[StoredGarment]) -> Iterator[str]:
    """Pieces of the CSV text with a row per cluster."""
    yield from _csv_of((row for garment in garments for row in cluster_rows(garment)), CLUSTER_HEADINGS)


def _csv_of(rows: Iterable[dict[str, object]], headings: Iterable[str] | None) -> Iterator[str]:
    writer: csv.DictWriter[str] | None = None
    stream = io.StringIO()
    if headings is not None:
        writer = csv.DictWriter(stream, fieldnames=list(headings), lineterminator="\n")
        writer.writeheader()
    for row in rows:
        if writer is None:
            writer = csv.DictWriter(stream, fieldnames=list(row), lineterminator="\n")
            writer.writeheader()
        writer.writerow(safe_row(row))
        yield stream.getvalue()
        stream.seek(0)
        stream.truncate()
    yield stream.getvalue()
