"""`dressform measure`: tape measures at any weights, and the weights that a tape asks for."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyReading, parse_weights
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.outputs import JSON, WritingOptions, check_outputs, write_file, wrote
from dressform.errors import ArgumentError

EXAMPLE = "bust=96,waist=78,hip=104"


def measure(
    body: Annotated[Path, Parameter(help="Body file: .glb, .gltf, .vrm, .obj, .ply, .dae or USD.")],
    /,
    *,
    weights: Annotated[
        str | None, Parameter(help="Shape to measure: MORPH=WEIGHT or SLIDER=VALUE, separated by commas.")
    ] = None,
    find: Annotated[
        str | None,
        Parameter(help="Find the nearest reachable shape instead: MEASURE=CM, separated by commas."),
    ] = None,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write the measures to this file.")] = None,
    reading: BodyReading | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Take the tape measures of a body at any shape, or find the shape that a tape asks for."""
    from dressform.cli.console import out, progress
    from dressform.cli.reading import read_body
    from dressform.jobs import measure as jobs
    from dressform.report.tables.measures import measures_json

    if weights is not None and find is not None:
        raise ArgumentError.of("measure", "find", "given without --weights", "both", "Leave one of them out")
    check_outputs([body], [(json_, JSON)], reading=reading, writing=writing)
    named = parse_weights("measure", weights) if weights else {}
    targets = parse_weights("measure", find, argument="find", example=EXAMPLE) if find else None
    shape = read_body(body, reading)
    with progress("looking for the shape") as advance:
        taken = jobs.measure(shape, None if targets else named, find=targets, progress=advance)
    found = [taken.found] if taken.found else []
    write_file(json_, measures_json(str(body), named, [taken.measures], found=found))
    console = out()
    taken.print(console)
    for line in wrote(json_):
        console.print(line)
    return EXIT_CLEAN
