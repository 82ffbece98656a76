"""Auditing: what is wrong with a body's own morphs, before any garment is put on."""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from dressform.audit.audit import audit_body
from dressform.audit.names import DEFAULT_PAIRS
from dressform.audit.results import MorphAudit, PairAudit
from dressform.body.body import Body
from dressform.calls import called
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.audit_json import audit_json
from dressform.formats.results.audit_report import AuditReport, name_of
from dressform.jobs.check_report import body_report, body_source
from dressform.jobs.progress import Progress, Step, stage
from dressform.jobs.provenance import now, versions
from dressform.report.pictures.audit import morph_picture, picture_name
from dressform.report.pictures.picture import save_png
from dressform.report.tables.audit import print_audit
from dressform.report.tables.text import WIDE_WIDTH, printed_text

AUDIT_JSON = "audit.json"
SUMMARY = "summary.txt"
PICTURES = "pictures"


@dataclass(frozen=True, eq=False, repr=False)
class AuditResult:
    """What an audit found; `print` shows the table that a person reads.

    Attributes:
        body: The body.
        report: What is wrong with each morph, the worst first, and what to do about it.
    """

    body: Body
    report: AuditReport

    @property
    def faulty(self) -> bool:
        """Whether anything is moderate or grave."""
        return self.report.faulty

    @property
    def json(self) -> str:
        """The findings as JSON text, see `docs/audit.md`."""
        return audit_json(self.report)

    def __str__(self) -> str:
        return printed_text(lambda console: print_audit(self.report, console))

    def __repr__(self) -> str:
        return f"<AuditResult of {self.body!r}: {self.report.audit.severity}>"


@called("audit")
def audit(body: Body, *, pairs: int = DEFAULT_PAIRS, progress: Progress | None = None) -> AuditResult:
    """Find what is wrong with the morphs of a body: rigid patches, roughness, turned triangles, stray vertices.

    Args:
        body: The body.
        pairs: Pairs of morphs to take to their ends together, those first that move most skin together.
        progress: Told how far it has come.

    Raises:
        ArgumentError: `pairs` is negative, or an argument is of another kind.

    Proof: tests/jobs/test_more_jobs.py
    """
    start = time.perf_counter()
    found = audit_body(body, pairs=pairs, progress=stage(progress, "auditing"))
    seconds = time.perf_counter() - start
    about = body_report(body, body_source(body))
    return AuditResult(body, AuditReport(now(), versions(), {"pairs": pairs}, about, found, seconds))


def write_audit(result: AuditResult, target: Path, *, progress: Step | None = None) -> None:
    """Write findings, tables and a picture per morph into a folder, whole or not at all.

    Raises:
        FileError: the folder cannot be written.
    """
    tell: Callable[[int, int], None] = progress or (lambda done, of: None)
    with whole_folder(target) as folder:
        (folder / PICTURES).mkdir()
        pictures = {}
        shown: list[MorphAudit | PairAudit] = [*result.report.audit.morphs, *result.report.audit.pairs]
        for rank, one in enumerate(shown, start=1):
            pictures[name_of(one)] = f"{PICTURES}/{picture_name(rank, one)}"
            save_png(morph_picture(result.body, one), folder / pictures[name_of(one)])
            tell(rank, len(shown))
        whole = replace(result.report, pictures=pictures)
        summary = printed_text(lambda console: print_audit(whole, console), width=WIDE_WIDTH)
        for name, text in ((AUDIT_JSON, audit_json(whole)), (SUMMARY, f"{summary}\n")):
            (folder / name).write_text(text, encoding="utf-8")
