"""What a check of a wardrobe found, written one garment at a time, so that memory does not grow with their number."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from dressform.faults.results import SEVERITIES
from dressform.formats.atomic import write_pieces
from dressform.formats.frames.units import AxisOptions
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_json import body_record
from dressform.formats.results.check_schema import StoredResults
from dressform.formats.results.wardrobe_json import clusters_csv_of, results_json_of, shapes_csv_of
from dressform.jobs.check_report import body_report, body_source, read_options, settings_report
from dressform.jobs.provenance import now, versions
from dressform.jobs.results_folder import CLUSTERS_CSV, RESULTS_JSON, SHAPES_CSV, SUMMARY
from dressform.jobs.wardrobe.check import WardrobeChecked
from dressform.report.tables.text import WIDE_WIDTH, printed_text
from dressform.report.tables.wardrobe import WardrobeSummary, print_wardrobe
from dressform.units import number


def wardrobe_json(found: WardrobeChecked, *, workers: int) -> Iterator[str]:
    """The document that `dressform check --json` writes, in pieces. Places that garments share are not looked for."""
    return results_json_of(_head(found, workers), found.garments())


def write_wardrobe_json(found: WardrobeChecked, path: Path, *, workers: int) -> None:
    """Write that document.

    Raises:
        FileError: it cannot be written; nothing is left half-written.
    """
    write_pieces(path, wardrobe_json(found, workers=workers))


def write_wardrobe(found: WardrobeChecked, target: Path, *, workers: int) -> None:
    """Fill a folder with the results, the tables of shapes and of places, and the summary. Pictures are not drawn.

    Raises:
        FileError: the folder cannot be written; nothing is left half-written.
    """
    summary = printed_text(lambda console: print_wardrobe(summary_of(found), console, whole=True), width=WIDE_WIDTH)
    with whole_folder(target) as folder:
        for name, pieces in (
            (RESULTS_JSON, wardrobe_json(found, workers=workers)),
            (SHAPES_CSV, shapes_csv_of(found.garments())),
            (CLUSTERS_CSV, clusters_csv_of(found.garments())),
            (SUMMARY, (f"{summary}\n",)),
        ):
            _write(folder / name, pieces)


def summary_of(found: WardrobeChecked) -> WardrobeSummary:
    """What is told of the whole."""
    run = found.run
    return WardrobeSummary(
        body=found.body.name,
        lines=found.lines,
        failed=found.failed,
        kept=run.kept,
        seconds=run.seconds,
        peak_mb=run.peak_mb,
        notes=found.body.notes,
    )


def _write(path: Path, pieces: Iterable[str]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        file.writelines(pieces)


def _head(found: WardrobeChecked, workers: int) -> StoredResults:
    work, body = found.work, found.body
    settings = settings_report(
        found.followings,
        methods=work.methods or tuple(dict.fromkeys(line.method for line in found.lines)),
        shapes=work.shapes,
        bands=work.bands,
        workers=workers,
        causes=work.causes,
        options=read_options(body),
        told=AxisOptions(work.units, work.up),
    )
    stances = {"stances": [one.name for one in work.stances]} if work.stances else {}
    return StoredResults(
        made=now(),
        seconds=number(found.run.seconds),
        versions=dict(versions()),
        settings={**settings, **stances},
        severity=max((line.severity for line in found.lines), key=SEVERITIES.index, default=SEVERITIES[0]),
        body=body_record(body_report(body, body_source(body))),
        garments=(),
        shared_places=(),
        failed=found.failed,
    )
