"""`dressform measure`: tape measures at any weights."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.measure import Measurer
from dressform.cli.arguments import Reading, parse_weights
from dressform.cli.console import out
from dressform.cli.reading import read_bodies
from dressform.formats.atomic import write_bytes
from dressform.report.measures import measures_json, measures_table


def measure(
    body: Annotated[Path, Parameter(help="Body file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    weights: Annotated[str | None, Parameter(help="Shape to measure: MORPH=WEIGHT, separated by commas.")] = None,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write the measures to this file.")] = None,
    reading: Reading | None = None,
) -> int:
    """Take the tape measures of every base shape of a body file, unless --base names one."""
    named = parse_weights("measure", weights) if weights else {}
    console = out()
    taken = []
    for one in read_bodies(body, reading or Reading()):
        vector = one.body.weights(named)
        taken.append(Measurer(one.body).measure(vector))
        console.print(measures_table(taken[-1]))
        for note in one.body.notes:
            console.print(f"note: {note}")
        if not one.body.range.contains(vector):
            console.print("note: These weights lie outside the range that a wearer may reach.")
    if json_ is not None:
        write_bytes(json_, measures_json(str(body), named, taken).encode())
    return 0
