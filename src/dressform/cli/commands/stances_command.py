"""`dressform stances`: in which stances garments of a body are looked at, and which joints were recognised."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyReading, StancesOption, stances_file
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.outputs import PNG, WritingOptions, check_outputs


def stances(
    body: Annotated[Path, Parameter(help="Body file: .glb, .gltf, .vrm, .obj, .ply, .dae or USD.")],
    /,
    *,
    stances: StancesOption = None,
    picture: Annotated[Path | None, Parameter(help="Draw the body in every stance into this PNG.")] = None,
    reading: BodyReading | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """List the stances in which garments of a body are looked at, and the joints that were recognised."""
    from dressform.cli.console import out, progress
    from dressform.cli.reading import read_body
    from dressform.jobs.stances import find_stances
    from dressform.report.pictures.picture import save_png
    from dressform.report.pictures.stance_sheet import stance_sheet
    from dressform.report.tables.body_stances import print_stances

    check_outputs([body, stances_file(stances)], [(picture, PNG)], reading=reading, writing=writing)
    shape = read_body(body, reading)
    found = find_stances(shape, stances)
    if picture is not None:
        with progress("drawing") as advance:
            save_png(stance_sheet(shape, found.stances, progress=advance), picture)
    console = out()
    print_stances(shape, found, console)
    if picture is not None:
        console.print(f"wrote {picture}")
    return EXIT_CLEAN
