"""What a store holds as a flat table: CSV, or Parquet where a library for it is installed."""

import csv
import importlib
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec

from dressform.errors import FileError
from dressform.formats.atomic import write_bytes, write_pieces
from dressform.formats.results.garment_line import GarmentLine
from dressform.formats.results.spreadsheet import safe_row
from dressform.jobs.store.finished import FinishedStore

CHECKS = "check"
HEADINGS = ("body", "garment", "method", "verdict", "fault", "severity", "value", "unit", "shape", "stance", "made")
PARQUET = ".parquet"
MISSING = "needs a library for Parquet: pip install pyarrow, or name a .csv"
_LINES = msgspec.json.Decoder(tuple[GarmentLine, ...])


def export_store(store: FinishedStore, path: Path) -> int:
    """Write a row for each fault of each garment that was checked; a garment that is clean has one without a fault.

    Args:
        store: The store.
        path: `.parquet` for Parquet, any other ending for CSV.

    Returns:
        How many rows.

    Raises:
        FileError: it cannot be written, or Parquet is asked for and pyarrow is not installed.

    Proof: tests/jobs/store/test_listing.py
    """
    if path.suffix.lower() == PARQUET:
        rows = list(_rows(store))
        write_bytes(path, _parquet(path, rows))
        return len(rows)
    count = [0]
    write_pieces(path, _csv(store, count))
    return count[0]


def _rows(store: FinishedStore) -> Iterator[dict[str, Any]]:
    for one in store.entries():
        for line in _LINES.decode(one.line) if one.kind == CHECKS else ():
            common = {"body": one.body, "garment": line.name, "method": line.method, "verdict": line.severity}
            nothing = {"fault": "", "severity": "", "value": None, "unit": "", "shape": "", "stance": ""}
            for fault in line.faults:
                yield {**common, **msgspec.to_builtins(fault), "made": one.made}
            if not line.faults:
                yield {**common, **nothing, "made": one.made}


def _csv(store: FinishedStore, count: list[int]) -> Iterator[str]:
    stream = io.StringIO()
    writer = csv.DictWriter(stream, fieldnames=HEADINGS, lineterminator="\n")
    writer.writeheader()
    for row in _rows(store):
        count[0] += 1
        writer.writerow(safe_row(row))
        yield stream.getvalue()
        stream.seek(0)
        stream.truncate()
    yield stream.getvalue()


def _parquet(path: Path, rows: list[dict[str, Any]]) -> bytes:
    try:
        arrow, parquet = importlib.import_module("pyarrow"), importlib.import_module("pyarrow.parquet")
    except ImportError:
        raise FileError.of(path, "", MISSING, "The CSV has the same rows") from None
    stream = io.BytesIO()
    parquet.write_table(arrow.Table.from_pylist([{name: row[name] for name in HEADINGS} for row in rows]), stream)
    return stream.getvalue()
