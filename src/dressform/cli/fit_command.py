"""`dressform fit`: a garment with the morph targets that make it follow a body."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import WAYS_WORDS, BodyOption, Following, Reading
from dressform.cli.console import out
from dressform.cli.fitting import fit_garment
from dressform.cli.reading import read_body, read_garments
from dressform.errors import FileError
from dressform.formats.fitted import save_fit
from dressform.lift.lift import DEFAULT_WAY
from dressform.mesh.tree import Tree
from dressform.report.units import MS_PER_S

FITTED_SUFFIX = ".glb"


def fit(
    garment: Annotated[Path, Parameter(help="Garment file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    body: BodyOption,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help="The .glb to write.")],
    lift: Annotated[str, Parameter(help=f"Way of lifting: {WAYS_WORDS}.")] = DEFAULT_WAY,
    following: Following | None = None,
    reading: Reading | None = None,
) -> int:
    """Write a garment with the morph targets, and the joint weights, that make it follow a body."""
    if output.suffix.lower() != FITTED_SUFFIX:
        raise FileError.of(output, "", "is no .glb", "Name the file to write with the ending .glb")
    how, follow = reading or Reading(), following or Following()
    body_file = read_body(body, how)
    shape = body_file.body
    garment_file = read_garments([garment], how, follow, worn_by=shape)[0]
    tree = Tree(shape.vertices, shape.faces)
    fitted = fit_garment(body_file, garment_file, lift, follow, tree=tree)
    notes = save_fit(fitted.fit, garment_file, body_file, output)
    console = out()
    joints = "no joint weights" if fitted.fit.skin is None else "joint weights"
    console.print(
        f"{garment_file.garment.name} on {shape.name}: {len(shape.morph_names)} morph targets and {joints}, "
        f"lifted by {lift} in {fitted.seconds * MS_PER_S:.0f} ms"
    )
    for note in (*shape.notes, *garment_file.garment.notes, *notes):
        console.print(f"note: {note}")
    console.print(f"wrote {output}")
    return 0
