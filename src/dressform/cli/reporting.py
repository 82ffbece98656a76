"""The report of a check as one HTML file, with its pictures beside it."""

from pathlib import Path

from dressform.cli.checking import Checked
from dressform.cli.console import Advance
from dressform.cli.looks import look_of
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.report.html.parts import Worn
from dressform.report.html.report import Report, make_report, write_report


def write_page(checked: Checked, path: Path, advance: Advance) -> Path:
    """Write the report of a check, and its pictures into a folder beside it, whose path is returned.

    Raises:
        FileError: the file system refuses; nothing is left half-written.
    """
    return write_report(page_of(checked, advance), path)


def page_of(checked: Checked, advance: Advance) -> Report:
    """The report of a check; what is certain of every garment as lifted is proven on the way."""
    job = checked.job
    body = job.body_file.body
    obstacle = linear_body(body)
    # The methods of one garment come one after the other and share its colour.
    worn = {
        one.key: Worn(
            one.fit,
            look_of(one.garment_file, number=number // max(len(job.methods), 1)),
            certificate=certify(linear_cloth(one.fit), obstacle, body.range),
        )
        for number, one in enumerate(checked.fitted)
    }
    return make_report(body, checked.report, worn, bands=job.bands, workers=job.workers, progress=advance)
