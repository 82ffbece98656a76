"""`dressform measure`: tape measures at any weights, and the weights that a tape asks for."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from rich.console import Console

from dressform.body.measure import Measurer
from dressform.body.tape_fit import TapeFit, fit_tape
from dressform.cli.arguments import ReadingOptions, parse_weights
from dressform.cli.console import out, progress
from dressform.cli.outputs import JSON, WritingOptions, check_outputs
from dressform.cli.reading import read_bodies
from dressform.errors import ArgumentError
from dressform.formats.atomic import write_bytes
from dressform.report.tables.measures import measures_json, measures_table, tape_table
from dressform.units import CM_PER_M

EXAMPLE = "bust=96,waist=78,hip=104"


def measure(
    body: Annotated[Path, Parameter(help="Body file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    weights: Annotated[str | None, Parameter(help="Shape to measure: MORPH=WEIGHT, separated by commas.")] = None,
    find: Annotated[
        str | None,
        Parameter(help="Find the nearest reachable shape instead: MEASURE=CM, separated by commas."),
    ] = None,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write the measures to this file.")] = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Take the tape measures of every base body of a body file, unless --base names one."""
    if weights is not None and find is not None:
        raise ArgumentError.of("measure", "find", "given without --weights", "both", "Leave one of them out")
    named = parse_weights("measure", weights) if weights else {}
    targets = parse_weights("measure", find, argument="find", example=EXAMPLE) if find else {}
    check_outputs([body], [(json_, JSON)], reading=reading, writing=writing)
    console = out()
    taken, fits = [], []
    for one in read_bodies(body, reading or ReadingOptions()):
        measurer = Measurer(one.body)
        vector = one.body.weights(named)
        if targets:
            fits.append(_found(measurer, targets, console))
            vector = fits[-1].weights
        taken.append(measurer.measure(vector))
        console.print(measures_table(taken[-1]))
        for note in one.body.notes:
            console.print(f"note: {note}")
        if not one.body.range.contains(vector):
            console.print("note: These weights lie outside the range that a wearer may reach.")
    if json_ is not None:
        write_bytes(json_, measures_json(str(body), named, taken, found=fits).encode())
    return 0


def _found(measurer: Measurer, targets: dict[str, float], console: Console) -> TapeFit:
    """The shape that the tape asks for, printed with what it missed."""
    with progress("looking for the shape") as advance:
        fit = fit_tape(measurer, {name: value / CM_PER_M for name, value in targets.items()}, progress=advance)
    console.print(tape_table(measurer.body, fit))
    console.print()
    return fit
