"""`dressform triage`: a folder of complaints measured again, merged, ranked and answered."""

import os
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import ReadingOptions, StancesOption, stances_file
from dressform.cli.commands.case_command import BodiesOption, GarmentsOption, garment_paths, read_all_bodies
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import WritingOptions, check_outputs


def triage(
    folder: Annotated[Path, Parameter(help="Folder with cases, in it or below.")],
    /,
    *,
    body: BodiesOption,
    garments: GarmentsOption,
    out_: Annotated[
        Path,
        Parameter(
            name="--out",
            help="Fill this folder: triage.json, triage.md, triage.html, glossary.html, pictures; finished cases are "
            "kept in it, so that the same call goes on where it was interrupted.",
        ),
    ],
    against: Annotated[
        Path | None, Parameter(help="triage.json of an earlier version: say what is cured, still there, worse, new.")
    ] = None,
    with_names: Annotated[
        bool, Parameter(help="Say who complains and where; else nobody is named.", negative="")
    ] = False,
    stances: StancesOption = None,
    workers: Annotated[
        int | None, Parameter(help="Processes that share the work. [default: one per processor]")
    ] = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Measure a folder of complaints again, find what each means and why it is so, merge, rank and answer them."""
    from dressform.cli.console import out, progress
    from dressform.formats.frames.units import AxisOptions
    from dressform.jobs.triage.against import read_triage
    from dressform.jobs.triage.kept import KEPT
    from dressform.jobs.triage.run import triage as run_triage
    from dressform.jobs.triage.write import write_triage
    from dressform.report.tables.triage import print_triage

    files = garment_paths("triage", garments)
    check_outputs([*body, *files, stances_file(stances), against], [], [out_], reading=reading, writing=writing)
    before = None if against is None else read_triage(against)
    bodies = read_all_bodies(body, reading)
    how = reading or ReadingOptions()
    told = AxisOptions(how.garment_units or how.units, how.garment_up or how.up)
    with progress("measuring complaints") as advance:
        found = run_triage(
            folder, bodies=bodies, garments=files, stances=stances, kept=out_ / KEPT, against=before,
            with_names=with_names, told=told, workers=os.cpu_count() or 1 if workers is None else workers,
            progress=advance,
        )  # fmt: skip
    written = write_triage(found, out_)
    console = out()
    print_triage(found.told, console, resumed=found.resumed)
    for path in written:
        console.print(f"wrote {path}")
    return EXIT_FAULTS if found.told.matters else EXIT_CLEAN
