"""The report of a check as one HTML file, with its pictures beside it."""

from pathlib import Path

from dressform.calls import called
from dressform.errors import FileError
from dressform.formats.load import GarmentFile
from dressform.formats.results.check_report import CheckReport
from dressform.formats.sources import refuse_sources
from dressform.jobs.check_result import CheckResult
from dressform.jobs.progress import Progress, stage
from dressform.jobs.prove import prove
from dressform.proof.linear_mesh import linear_body
from dressform.report.html.parts import ReportGarment
from dressform.report.html.report import Report, make_report, write_report
from dressform.report.pictures.faults import Appearance
from dressform.report.pictures.looks import look_of

REPORT_SUFFIXES = (".html", ".htm")


@called("report")
def report(
    result: CheckResult, path: Path | str, *, for_maker: str | None = None, progress: Progress | None = None
) -> Path:
    """Write the report of a check as one HTML file that can be mailed and opened without a network.

    Args:
        result: What `check` found.
        path: The `.html` to write.
        for_maker: Name of a garment: its maker gets a report of it alone. All garments where left out.
        progress: Told how far it has come.

    Returns:
        The folder beside it that holds the pictures.

    Raises:
        ArgumentError: `result` is not what `check` returned, or no garment of that name was checked.
        FileError: the name does not end with .html or .htm, it is a file that body or garments were read from, or the
            file system refuses; nothing is left half-written.
    """
    path = Path(path)
    if path.suffix.lower() not in REPORT_SUFFIXES:
        raise FileError.of(path, "", f"does not end with {REPORT_SUFFIXES[0]}", "A report is a page: name it so")
    refuse_sources([path], result.fits.values())
    found = result.report if for_maker is None else result.report.for_maker(for_maker)
    return write_report(make_page(result, found=found, progress=progress), path)


def make_page(result: CheckResult, *, found: CheckReport | None = None, progress: Progress | None = None) -> Report:
    """The report of a check; what is certain of every garment as lifted is proven on the way.

    Args:
        result: What `check` found.
        found: The same gathered for the page, where that is not `result.report`.
        progress: Told how far it has come.
    """
    body = next(iter(result.fits.values())).body
    obstacle = linear_body(body)
    found = result.report if found is None else found
    shown = {garment.key for garment in found.garments}
    looks = looks_of(result)
    worn = {
        key: ReportGarment(
            fit,
            looks[fit.garment.name],
            certificate=prove(fit, sliders=False, obstacle=obstacle).certificate if fit.is_linear else None,
            under=tuple((one, looks[one.garment.name]) for one in result.under_of(key)),
        )
        for key, fit in result.fits.items()
        if key in shown
    }
    return make_report(
        body,
        found,
        worn,
        bands=result.bands,
        workers=result.workers,
        progress=stage(progress, "writing the report"),
        wardrobe=result.wardrobe,
        stances=result.stances,
    )


def looks_of(result: CheckResult) -> dict[str, Appearance | None]:
    """Colours of each garment as its file has them, by name; None where it has no file."""
    sources = {fit.garment.name: fit.garment.source for fit in result.fits.values()}
    return {
        name: look_of(source, number=number) if isinstance(source, GarmentFile) else None
        for number, (name, source) in enumerate(sources.items())
    }
