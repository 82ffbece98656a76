"""`dressform audit`: what is wrong with a body's own morphs, before any garment is put on."""

import io
import time
from dataclasses import replace
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from rich.console import Console

from dressform.audit.audit import DEFAULT_PAIRS, audit_body
from dressform.audit.results import MorphAudit, PairAudit
from dressform.audit.words import body_sentences, morph_sentences, sentence
from dressform.body.body import Body
from dressform.cli.arguments import ReadingOptions
from dressform.cli.console import PLAIN_WIDTH, out, progress
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import JSON, WritingOptions, check_outputs
from dressform.cli.reading import read_body
from dressform.faults.results import SEVERITIES
from dressform.formats.atomic import write_bytes
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.audit_json import audit_json
from dressform.formats.results.audit_report import AuditReport, name_of
from dressform.jobs.check_report import body_report, body_source
from dressform.jobs.progress import Step
from dressform.jobs.provenance import now, versions
from dressform.report.pictures.audit import morph_picture, picture_name
from dressform.report.pictures.picture import save_png
from dressform.report.tables.audit import findings_table, morphs_table
from dressform.units import counted

AUDIT_JSON = "audit.json"
SUMMARY = "summary.txt"
PICTURES = "pictures"


def audit(
    body: Annotated[Path, Parameter(help="Body file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    pairs: Annotated[int, Parameter(help="Pairs of morphs to take to their ends together.")] = DEFAULT_PAIRS,
    json_: Annotated[Path | None, Parameter(name="--json", help="Write the findings to this file.")] = None,
    out_: Annotated[
        Path | None, Parameter(name="--out", help="Fill this folder with findings, tables and a picture per morph.")
    ] = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Say what is wrong with the morphs of a body, the worst first, and what to do about each."""
    check_outputs([body], [(json_, JSON)], [out_], reading=reading, writing=writing)
    start = time.perf_counter()
    body_file = read_body(body, reading or ReadingOptions())
    with progress("auditing") as advance:
        found = audit_body(body_file.body, pairs=pairs, progress=advance)
    seconds = time.perf_counter() - start
    report = AuditReport(
        now(), versions(), {"pairs": pairs}, body_report(body_file.body, body_source(body_file.body)), found, seconds
    )
    if json_ is not None:
        write_bytes(json_, audit_json(report).encode())
    if out_ is not None:
        with progress("drawing") as advance:
            _write_folder(report, body_file.body, out_, advance)
    console = out()
    print_audit(report, console)
    for path in (json_, out_):
        if path is not None:
            console.print(f"wrote {path}")
    return EXIT_FAULTS if report.faulty else EXIT_CLEAN


def print_audit(report: AuditReport, console: Console) -> None:
    """What a person reads: one line per morph, then each finding with what to do about it."""
    body, found = report.body, report.audit
    console.print(
        f"{body.name}: {body.vertices} vertices, {body.stature:.2f} m tall, {counted(len(body.intervals), 'morph')}; "
        f"{report.seconds:.1f} s"
    )
    for note in (*body.notes, *body_sentences(found)):
        console.print(f"note: {note}")
    if found.morphs:
        console.print()
        console.print(morphs_table(found))
    shown: list[MorphAudit | PairAudit] = [*found.morphs, *found.pairs]
    for one in shown:
        if one.severity != SEVERITIES[0]:
            console.print()
            console.print(findings_table(one))
            for line in map(sentence, one.findings):
                console.print(f"  {line}")
    for still in (one for one in found.morphs if not one.findings):
        for line in morph_sentences(still):
            console.print(f"{still.name}: {line}")


def _write_folder(report: AuditReport, body: Body, target: Path, advance: Step) -> None:
    """Findings, tables and pictures, whole or not at all."""
    with whole_folder(target) as folder:
        (folder / PICTURES).mkdir()
        pictures = {}
        shown: list[MorphAudit | PairAudit] = [*report.audit.morphs, *report.audit.pairs]
        for rank, one in enumerate(shown, start=1):
            pictures[name_of(one)] = f"{PICTURES}/{picture_name(rank, one)}"
            save_png(morph_picture(body, one), folder / pictures[name_of(one)])
            advance(rank, len(shown))
        whole = replace(report, pictures=pictures)
        summary = io.StringIO()
        print_audit(whole, Console(file=summary, width=PLAIN_WIDTH, highlight=False))
        for name, text in ((AUDIT_JSON, audit_json(whole)), (SUMMARY, summary.getvalue())):
            (folder / name).write_text(text, encoding="utf-8")
