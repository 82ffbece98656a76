"""The whole job of comparing: results of two checks, or sides that are measured now."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from dressform.body.body import Body
from dressform.calls import called, refuse_misfit
from dressform.fit.fit import Fit
from dressform.formats.guards.limits import read_bytes
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_json import to_results
from dressform.formats.results.check_read import read_results
from dressform.formats.results.check_schema import StoredResults
from dressform.formats.results.compare_schema import StoredComparisons
from dressform.formats.results.record import json_text
from dressform.garment.garment import Garment
from dressform.jobs.check_result import CheckResult
from dressform.jobs.compare.again import pairs_by_receipt
from dressform.jobs.compare.compared import DEFAULT_GATE, compare_results
from dressform.jobs.compare.gate import TOLERANCE, ReleaseGate
from dressform.jobs.compare.looked_again import CheckedSide, SeenSides, fits_of_checks, measured_again
from dressform.jobs.compare.pictures import SideFits, paired_pictures
from dressform.jobs.compare.sides import DEFAULT_SIDES, MeasuredSides, Side, SideSettings, measure_sides
from dressform.jobs.progress import Progress
from dressform.jobs.provenance import now
from dressform.jobs.report import make_page
from dressform.report.html.report import write_report
from dressform.report.pictures.picture import save_png
from dressform.report.tables.comparison import print_comparisons
from dressform.report.tables.text import WIDE_WIDTH, printed_text

COMPARISON_JSON = "comparison.json"
SUMMARY = "summary.txt"
NAMES = ("first", "second")
"""What two checks are called where nothing else is said."""

Checked = CheckResult | StoredResults | Path | str
"""What check returned, results that were read, or their file."""


@dataclass(frozen=True)
class Compared:
    """What a comparison found, and what was measured for it; `print` shows the tables that a person reads.

    Attributes:
        told: The comparison.
        sides: What was measured; None where results of checks were compared.
        checked: The results that were compared; none where sides were measured.
    """

    told: StoredComparisons
    sides: MeasuredSides | None = None
    checked: tuple[CheckedSide, ...] = field(default=())

    @property
    def is_graver(self) -> bool:
        """Whether anything got graver by more than the tolerance."""
        return self.told.is_graver

    def seen(self) -> SeenSides:
        """The fits of each side for pictures, made again where only results are there; and why others cannot be."""
        if self.sides is None:
            return fits_of_checks(self.told.pairs[0], self.checked)
        fits: SideFits = {
            side: {self.sides.check.fits[key].garment.name: self.sides.check.fits[key] for key in keys}
            for side, keys in self.sides.keys.items()
        }
        return SeenSides(fits, ())

    def __str__(self) -> str:
        return printed_text(lambda console: print_comparisons(self.told, console), width=WIDE_WIDTH)


@called("compare", apart=("first", "second"))
def compare(
    first: Checked,
    second: Checked,
    *,
    names: tuple[str, str] | None = None,
    tolerance: float = TOLERANCE,
    limits: Mapping[str, float] | None = None,
    other_files: bool = False,
    pairs: Mapping[str, str] | None = None,
) -> Compared:
    """Compare what two checks found, over the garments, shapes and stances that both have.

    Args:
        first: What is compared with: what `check` returned, or the results that it wrote.
        second: What is judged.
        names: What both are called; by default the names of their files.
        tolerance: Share by which a graded fault may grow before it is graver.
        limits: By the key of a fault, by how much it may grow instead, in the unit of the tables: mm, cm² and so on.
        other_files: Whether garments of one name may be of different files.
        pairs: Garments of the second by those of the first that they are compared with, where their names differ; what
            receipts say is known without.

    Returns:
        The comparison: `is_graver`, `told` with every figure, and the tables as text.

    Raises:
        FileError: a file holds no results.
        MatchError: unlike things; see `pair_garments`.
        ArgumentError: the tolerance is negative, a limit is of no fault, or a pair names a garment that there is not.

    Proof: tests/jobs/compare/test_compare_checks.py
    """
    for argument, told in (("first", first), ("second", second)):
        refuse_misfit("compare", argument, told, CheckResult | StoredResults | Path | str)
    gate = ReleaseGate(tolerance, limits or {})
    called_so = names or _names(first, second)
    one, other = (_checked(told, name) for told, name in zip((first, second), called_so))
    known = {**pairs_by_receipt(one.told, other.told), **(pairs or {})}
    pair = compare_results(one.told, other.told, names=called_so, gate=gate, other_files=other_files, pairs=known)
    return Compared(StoredComparisons(made=now(), sides=called_so, pairs=(pair,)), checked=(one, other))


def compare_sides(
    body: Body,
    garments: Sequence[Garment],
    sides: Sequence[Side],
    settings: SideSettings = DEFAULT_SIDES,
    *,
    gate: ReleaseGate = DEFAULT_GATE,
    progress: Progress | None = None,
) -> Compared:
    """Measure sides over the same garments, shapes and stances, and compare each with the first.

    Args:
        body: The body.
        garments: The garments.
        sides: Two or more; each is compared with the first.
        settings: At what they are measured.
        gate: What may grow by how much before it is graver.
        progress: Told how far it has come.

    Raises:
        ArgumentError: as for `measure_sides`.
        DressformError: a garment cannot be fitted or measured on a side.
    """
    measured = measure_sides(body, garments, sides, settings, progress=progress)
    names = tuple(side.name for side in sides)
    first = measured.results(names[0])
    pairs = tuple(
        compare_results(first, measured.results(name), names=(names[0], name), gate=gate, other_files=True)
        for name in names[1:]
    )
    return Compared(StoredComparisons(made=now(), sides=names, pairs=pairs), measured)


def write_comparison(found: Compared, target: Path) -> tuple[str, ...]:
    """Write a comparison into a folder: JSON, summary, the results of each side, pictures side by side.

    Returns:
        Why garments have no pictures, one sentence each.

    Raises:
        FileError: the folder cannot be written; nothing is left half-written.
    """
    seen = found.seen()
    with whole_folder(target) as folder:
        (folder / COMPARISON_JSON).write_text(json_text(found.told), encoding="utf-8")
        (folder / SUMMARY).write_text(f"{found}\n", encoding="utf-8")
        for number, name in enumerate(found.told.sides, start=1):
            if found.sides is not None:
                (folder / f"side-{number}.json").write_text(json_text(found.sides.results(name)), encoding="utf-8")
        for number, pair in enumerate(found.told.pairs, start=2):
            for file, image in paired_pictures(pair, seen.fits).items():
                save_png(image, folder / f"side-{number}-{file}")
    return seen.why


def report_comparison(found: Compared, path: Path, *, progress: Progress | None = None) -> Path:
    """Write the page with all sides of every garment, to be set beside each other or under a wipe.

    Where results of checks were compared, their garments are made again from their files, and measured again at rest on
    the shapes that tell most.

    Returns:
        The folder beside it that holds the pictures.

    Raises:
        ArgumentError: no garment of the results can be made again on both sides; the reasons are told.
        FileError: the file system refuses; nothing is left half-written.
    """
    sides = found.sides or measured_again(found.told.pairs[0], found.checked, found.seen(), progress=progress)
    return write_report(make_page(sides.check, found=sides.report, progress=progress), path)


def _names(first: Checked, second: Checked) -> tuple[str, str]:
    """What both are called: as their files, with folders where these are called alike."""
    paths = [Path(told) if isinstance(told, Path | str) else None for told in (first, second)]
    short = [name if path is None else path.stem for path, name in zip(paths, NAMES)]
    if short[0] == short[1]:
        short = [name if path is None else str(path) for path, name in zip(paths, NAMES)]
    return short[0], short[1]


def _checked(told: Checked, name: str) -> CheckedSide:
    """One side, with its fits where they are at hand."""
    if isinstance(told, CheckResult):
        fits: dict[str, Fit] = {}
        for one in told.fits.values():
            fits.setdefault(one.garment.name, one)
        return CheckedSide(name, to_results(told.report), fits)
    if isinstance(told, StoredResults):
        return CheckedSide(name, told, None)
    return CheckedSide(name, read_results(read_bytes(Path(told)), path=str(told)), None)
