"""`dressform outfit`: garments that are worn together, repaired from the skin outward."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter
from rich.table import Table

from dressform.cli.arguments import METHOD_WORDS, BodyOption, FollowingOptions, ReadingOptions
from dressform.cli.console import out, waiting
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import GLB, WritingOptions, check_outputs
from dressform.cli.reading import read_body, read_garments
from dressform.errors import ArgumentError
from dressform.formats.guards.file_names import stem_of
from dressform.formats.out_folder import whole_folder
from dressform.formats.outfit_file import read_outfits
from dressform.garment.following import DEFAULT_MARGIN_MM, DEFAULT_METHOD
from dressform.jobs.fit import fit
from dressform.jobs.save import save
from dressform.mesh.tree import Tree
from dressform.repair.layers import SKIN, Layer, repair_outfit
from dressform.units import MM_PER_M, PERCENT


def outfit(
    outfits: Annotated[Path, Parameter(help="TOML that says which garments are worn together.")],
    name: Annotated[str, Parameter(help="Outfit of that file.")],
    /,
    *,
    body: BodyOption,
    out_: Annotated[Path, Parameter(name="--out", help="Folder to fill with the fitted garments.")],
    margin: Annotated[float, Parameter(help="Clearance to keep from skin and layers, mm.")] = DEFAULT_MARGIN_MM,
    method: Annotated[str, Parameter(help=f"Method: {METHOD_WORDS}.")] = DEFAULT_METHOD,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Repair garments worn together, each against the body and the layers under it, and write them."""
    known = read_outfits(outfits)
    if name not in known:
        raise ArgumentError.of("outfit", "name", f"one of {', '.join(known)}", repr(name), "Use one of these names")
    targets = [(out_ / f"{stem_of(path)}.glb", GLB) for path in known[name]] if out_.is_dir() else []
    check_outputs([outfits, body, *known[name]], targets, [out_], reading=reading, writing=writing)
    how = reading or ReadingOptions()
    shape = read_body(body, how).body
    garments = read_garments(known[name], how, following, worn_by=shape, method=method, margin_mm=margin)
    tree = Tree(shape.vertices, shape.faces)
    fits = [fit(shape, one.file.garment, one.following, tree=tree) for one in garments]
    with waiting("Repairing from the skin outward"):
        layers = repair_outfit(fits)
    with whole_folder(out_) as partial:
        for layer in layers:
            save(layer.fit, partial / f"{layer.fit.garment.name}.glb")
    console = out()
    console.print(_layers_table(name, shape.name, layers))
    console.print(f"wrote {out_}")
    return EXIT_CLEAN if all(layer.certificate.share == 1.0 for layer in layers) else EXIT_FAULTS


def _layers_table(name: str, body: str, layers: tuple[Layer, ...]) -> Table:
    """One line per layer and what lies under it."""
    table = Table(title=f"{name} on {body}, from the skin outward", title_justify="left", box=None)
    for heading in ("layer", "over", "near pairs certified, %", "crossing as made", "largest move, mm", "conflicts"):
        table.add_column(heading, justify="left" if heading in {"layer", "over"} else "right")
    for layer in layers:
        for under in range(layer.number):
            first = under == SKIN
            table.add_row(
                layer.fit.garment.name if first else "",
                "skin" if first else layers[under - 1].fit.garment.name,
                f"{layer.share(under) * PERCENT:.3f}",
                str(layer.crossing.get(under, 0)),
                f"{layer.cost.largest_move * MM_PER_M:.1f}" if first else "",
                str(int((layer.conflict_layers == under).sum())),
            )
    return table
