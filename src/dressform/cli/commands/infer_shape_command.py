"""`dressform infer-shape`: which shape garments were modelled on."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.body import Body
from dressform.cli.arguments import BodyOption, ReadingOptions
from dressform.cli.console import out, waiting
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import JSON, WritingOptions, check_outputs
from dressform.cli.reading import read_body, read_garments
from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.load import load_bodies
from dressform.infer.results import OTHER_BASE, OTHER_SHAPE, TIGHT
from dressform.infer.shape import infer_shape as infer
from dressform.report.tables.inferred_shape import inferred_json, inferred_table


def infer_shape(
    garments: Annotated[list[Path], Parameter(help="Garment files: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    body: BodyOption,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write what was inferred to this file.")] = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Infer the shape that garments were modelled on, as a set; other base bodies of the body file are considered."""
    check_outputs([body, *garments], [(json_, JSON)], reading=reading, writing=writing)
    how = reading or ReadingOptions()
    meant = read_body(body, how).body
    others = _others(body, how, meant)
    console, told = out(), []
    for one in read_garments(garments, how, worn_by=meant):
        with waiting(f"{one.name}: looking for its shape"):
            found = infer(meant, one.file.garment, others=others)
        told.append((one.name, found))
        console.print(inferred_table(one.name, found))
    if json_ is not None:
        write_bytes(json_, inferred_json(meant.name, told).encode())
    wrong = any(found.verdict in (OTHER_SHAPE, OTHER_BASE, TIGHT) for _, found in told)
    return EXIT_FAULTS if wrong else EXIT_CLEAN


def _others(path: Path, how: ReadingOptions, meant: Body) -> list[Body]:
    """The other base bodies of the body file that have its triangles."""
    try:
        read = load_bodies(path, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up)
    except FileError:  # a base body that is not asked for may be of any kind
        return []
    bodies = [one.body for one in read if one.body.name != meant.name]
    return [one for one in bodies if one.faces.shape == meant.faces.shape and (one.faces == meant.faces).all()]
