"""`dressform audit`: what is wrong with a body's own morphs, before any garment is put on."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.audit.names import DEFAULT_PAIRS
from dressform.cli.arguments import BodyReading
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import JSON, WritingOptions, check_outputs, write_file, wrote


def audit(
    body: Annotated[Path, Parameter(help="Body file: .glb, .gltf, .vrm, .obj, .ply, .dae or USD.")],
    /,
    *,
    pairs: Annotated[int, Parameter(help="Pairs of morphs to take to their ends together.")] = DEFAULT_PAIRS,
    json_: Annotated[Path | None, Parameter(name="--json", help="Write the findings to this file.")] = None,
    out_: Annotated[
        Path | None, Parameter(name="--out", help="Fill this folder with findings, tables and a picture per morph.")
    ] = None,
    reading: BodyReading | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Say what is wrong with the morphs of a body, the worst first, and what to do about each."""
    from dressform.cli.console import out, progress
    from dressform.cli.reading import read_body
    from dressform.jobs import audit as jobs
    from dressform.report.tables.audit import print_audit

    check_outputs([body], [(json_, JSON)], [out_], reading=reading, writing=writing)
    shape = read_body(body, reading)
    with progress("auditing") as advance:
        found = jobs.audit(shape, pairs=pairs, progress=advance)
    write_file(json_, found.json)
    if out_ is not None:
        with progress("drawing") as advance:
            jobs.write_audit(found, out_, progress=advance)
    console = out()
    print_audit(found.report, console)
    for line in wrote(json_, out_):
        console.print(line)
    return EXIT_FAULTS if found.faulty else EXIT_CLEAN
