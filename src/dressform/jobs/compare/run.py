"""The whole job of comparing: two results files, or sides that are measured now."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.body.stance import Stance
from dressform.errors import ArgumentError
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.formats.guards.limits import read_bytes
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_read import read_results
from dressform.formats.results.compare_schema import StoredComparisons
from dressform.formats.results.record import json_text
from dressform.garment.garment import Garment
from dressform.jobs.compare.compared import TOLERANCE, compare_results
from dressform.jobs.compare.pictures import paired_pictures
from dressform.jobs.compare.sides import COMPARED_SHAPES, MeasuredSides, Side, measure_sides
from dressform.jobs.progress import Progress
from dressform.jobs.provenance import now
from dressform.jobs.report import make_page
from dressform.report.html.report import write_report
from dressform.report.pictures.picture import save_png
from dressform.report.tables.comparison import print_comparisons
from dressform.report.tables.text import WIDE_WIDTH, printed_text

COMPARISON_JSON = "comparison.json"
SUMMARY = "summary.txt"


@dataclass(frozen=True)
class Compared:
    """What a comparison found, and what was measured for it.

    Attributes:
        told: The comparison.
        sides: What was measured; None where results files were compared.
    """

    told: StoredComparisons
    sides: MeasuredSides | None = None

    @property
    def is_graver(self) -> bool:
        """Whether anything got graver by more than the tolerance."""
        return self.told.is_graver

    def __str__(self) -> str:
        return printed_text(lambda console: print_comparisons(self.told, console), width=WIDE_WIDTH)


def compare_files(first: Path, second: Path, *, tolerance: float = TOLERANCE, other_files: bool = False) -> Compared:
    """Compare two results files that checks wrote.

    Args:
        first: The results that are compared with.
        second: The results that are judged.
        tolerance: Share by which a value may grow before it is graver.
        other_files: Whether garments of one name may be of different files.

    Raises:
        FileError: a file holds no results.
        MatchError: unlike things; see `pair_garments`.
        ArgumentError: the tolerance is negative.

    Proof: tests/cli/commands/test_compare_command.py
    """
    _refuse_tolerance(tolerance)
    one, other = (read_results(read_bytes(path), path=str(path)) for path in (first, second))
    names = (first.stem, second.stem) if first.stem != second.stem else (str(first), str(second))
    pair = compare_results(one, other, names=names, tolerance=tolerance, other_files=other_files)
    return Compared(StoredComparisons(made=now(), sides=names, pairs=(pair,)))


def compare_sides(
    body: Body,
    garments: Sequence[Garment],
    sides: Sequence[Side],
    *,
    shapes: ShapeSettings = COMPARED_SHAPES,
    stances: Sequence[Stance] = (),
    bands: Bands = DEFAULT_BANDS,
    tolerance: float = TOLERANCE,
    workers: int = 1,
    progress: Progress | None = None,
) -> Compared:
    """Measure sides over the same garments, shapes and stances, and compare each with the first.

    Args:
        body: The body. garments: The garments. sides: Two or more; each is compared with the first.
        shapes: Which shapes, beside the base and those that are worst for any side.
        stances: Stances beside rest. bands: From which value on a fault is slight, moderate, grave.
        tolerance: Share by which a value may grow before it is graver.
        workers: Processes that measure. progress: Told how far it has come.

    Raises:
        ArgumentError: the tolerance is negative, or as for `measure_sides`.
        DressformError: a garment cannot be fitted or measured on a side.
    """
    _refuse_tolerance(tolerance)
    measured = measure_sides(
        body, garments, sides, shapes=shapes, stances=stances, bands=bands, workers=workers, progress=progress
    )
    names = tuple(side.name for side in sides)
    first = measured.results(names[0])
    pairs = tuple(
        compare_results(first, measured.results(name), names=(names[0], name), tolerance=tolerance, other_files=True)
        for name in names[1:]
    )
    return Compared(StoredComparisons(made=now(), sides=names, pairs=pairs), measured)


def write_comparison(found: Compared, target: Path) -> None:
    """Write a comparison into a folder: JSON, summary, the results of each side, pictures side by side.

    Raises:
        FileError: the folder cannot be written; nothing is left half-written.
    """
    with whole_folder(target) as folder:
        (folder / COMPARISON_JSON).write_text(json_text(found.told), encoding="utf-8")
        (folder / SUMMARY).write_text(f"{found}\n", encoding="utf-8")
        if found.sides is None:
            return
        for number, name in enumerate(found.told.sides, start=1):
            (folder / f"side-{number}.json").write_text(json_text(found.sides.results(name)), encoding="utf-8")
        for number, pair in enumerate(found.told.pairs, start=2):
            for file, image in paired_pictures(pair, found.sides).items():
                save_png(image, folder / f"side-{number}-{file}")


def report_comparison(found: Compared, path: Path, *, progress: Progress | None = None) -> Path:
    """Write the page with all sides of every garment, to be set beside each other or under a wipe.

    Returns:
        The folder beside it that holds the pictures.

    Raises:
        ArgumentError: results files were compared, which hold no meshes.
        FileError: the file system refuses; nothing is left half-written.
    """
    if found.sides is None:
        advice = "Name methods or settings, with --body and --garments, to have both measured anew"
        raise ArgumentError.of("compare", "report", "of sides that are measured", "results files", advice)
    return write_report(make_page(found.sides.check, found=found.sides.report, progress=progress), path)


def _refuse_tolerance(tolerance: float) -> None:
    if not tolerance >= 0.0:
        raise ArgumentError.of("compare", "tolerance", "0 or more", f"{tolerance:g}", "Give for instance 0.05")
