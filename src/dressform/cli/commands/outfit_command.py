"""`dressform outfit`: garments that are worn together, repaired from the skin outward."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import METHOD_WORDS, BodyOption, FollowingOptions, ReadingOptions, stances_file
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import GLB, WritingOptions, check_outputs
from dressform.garment.choices import DEFAULT_MARGIN_MM, DEFAULT_METHOD


def outfit(
    outfits: Annotated[Path, Parameter(help="TOML that says which garments are worn together.")],
    name: Annotated[str, Parameter(help="Outfit of that file.")],
    /,
    *,
    body: BodyOption,
    out_: Annotated[Path, Parameter(name="--out", help="Folder to fill with the fitted garments.")],
    margin: Annotated[float, Parameter(help="Clearance to keep from skin and layers, mm.")] = DEFAULT_MARGIN_MM,
    method: Annotated[str, Parameter(help=f"Method: {METHOD_WORDS}.")] = DEFAULT_METHOD,
    stances: Annotated[
        str | None,
        Parameter(
            help="Stances to check beside the modelled pose, which takes minutes: a stances TOML; or motion, everyday, "
            "strong, animations, sliders, several separated by commas. [default: none]"
        ),
    ] = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Repair garments worn together, each against the body and the layers under it, and write them."""
    from dressform.cli.console import out, progress, waiting
    from dressform.cli.reading import read_body, read_garments
    from dressform.formats.guards.file_names import stem_of
    from dressform.formats.outfit_file import outfit_files
    from dressform.jobs import outfit as jobs
    from dressform.jobs.check import check_outfit
    from dressform.jobs.fit import fit
    from dressform.jobs.repair import is_seen_wrong
    from dressform.jobs.stances import NONE, find_stances
    from dressform.mesh.tree import Tree
    from dressform.report.tables.layers import layers_table
    from dressform.report.tables.printing import print_at_stances, print_summary
    from dressform.report.tables.worn_together import outfit_lines

    files = outfit_files(outfits, name)
    targets = [(out_ / f"{stem_of(path)}.glb", GLB) for path in files] if out_.is_dir() else []
    check_outputs([outfits, body, stances_file(stances), *files], targets, [out_], reading=reading, writing=writing)
    shape = read_body(body, reading)
    stood = find_stances(shape, stances or NONE)
    garments = read_garments(files, reading, following, worn_by=shape, method=method, margin_mm=margin).whole()
    tree = Tree(shape.vertices, shape.faces)
    fits = [fit(shape, one.garment, one.following, tree=tree) for one in garments]
    with waiting("Repairing from the skin outward"):
        made = jobs.outfit(fits, name=name)
    jobs.save_outfit(made, out_)
    console = out()
    with progress("checking them together") as advance:
        result = check_outfit([layer.fit for layer in made.layers], stances=stood.stances, progress=advance)
    is_wrong = is_seen_wrong(row.faults for row in result.swept.rows)
    certified = "every near pair certified" if made.complete else "not every near pair certified"
    seen = "something is seen that should be covered" if is_wrong else "nothing seen that should be covered"
    console.print(f"{name}: {certified}; {seen}.", style="bold")
    console.print(layers_table(name, made.layers))
    console.print()
    print_summary(result.report, console, notes=stood.notes)
    print_at_stances(result.report, console)
    console.print()
    for line in outfit_lines(result.report):
        console.print(line)
    console.print(f"wrote {out_}")
    return EXIT_CLEAN if made.complete and not is_wrong else EXIT_FAULTS
