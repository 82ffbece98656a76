"""`dressform infer-shape`: which shape garments were modelled on."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyOption, ReadingOptions
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import JSON, WritingOptions, check_outputs, write_file, wrote


def infer_shape(
    garments: Annotated[list[Path], Parameter(help="Garment files: .glb, .gltf, .obj, .ply, .dae or USD.")],
    /,
    *,
    body: BodyOption,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write what was inferred to this file.")] = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Infer the shape that garments were modelled on, as a set; other base bodies of the body file are considered."""
    from dressform.cli.console import out, print_notes, waiting
    from dressform.cli.reading import read_body, read_garments
    from dressform.jobs import infer_shape as jobs
    from dressform.report.tables.inferred_shape import inferred_json, inferred_line, inferred_table

    check_outputs([body, *garments], [(json_, JSON)], reading=reading, writing=writing)
    meant = read_body(body, reading)
    asked = read_garments(garments, reading, worn_by=meant)
    console, found = out(), []
    for one in asked.sound:
        with waiting(f"{one.name}: looking for its shape"):
            found.append(jobs.infer_shape(meant, one.garment))
    shapes = [(each.garment.name, each.shape) for each in found]
    console.print(inferred_line(shapes, meant.name), style="bold")
    print_notes(console, meant, *(one.garment for one in asked.sound))
    for note in found[0].notes if found else ():
        console.print(f"note: {note}")
    for each in found:
        console.print(inferred_table(each.garment.name, each.shape))
    for broken in asked.failed:
        console.print(broken.sentence)
    write_file(json_, inferred_json(meant.name, shapes, failed=asked.failed))
    for line in wrote(json_):
        console.print(line)
    if asked.failed:
        return EXIT_BAD_INPUT
    return EXIT_FAULTS if any(one.faulty for one in found) else EXIT_CLEAN
