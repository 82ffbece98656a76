"""`dressform demo`: the village of Saltmarsh made, checked and fitted."""

import os
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import Following, Reading
from dressform.cli.checking import Checked, CheckJob, check_garments
from dressform.cli.console import out, progress, waiting
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.printing import print_report
from dressform.cli.reading import read_body, read_garments
from dressform.cli.results_folder import write_results
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.write import write_demo
from dressform.faults.check import DEFAULT_BANDS
from dressform.formats.fitted import save_fit
from dressform.lift.lift import DEFAULT_WAY
from dressform.report.out_folder import whole_folder

DEFAULT_FOLDER = Path("saltmarsh")
DEFAULT_DEMO_SHAPES = 16
DEMO_STRONGEST = 3
RESULTS = "results"
FITTED = "fitted"


def demo(
    folder: Annotated[Path, Parameter(name="OUT", help="Folder to fill.")] = DEFAULT_FOLDER,
    /,
    *,
    shapes: Annotated[int, Parameter(help="Size of the Sobol sample, beside base, ends, pairs and worst.")] = (
        DEFAULT_DEMO_SHAPES
    ),
    workers: Annotated[
        int | None, Parameter(help="Processes that measure at the same time. [default: one per processor]")
    ] = None,
) -> int:
    """Make the bodies and the wardrobe of Saltmarsh, check every garment over its body's range, and fit it."""
    console = out()
    with waiting("Making bodies and wardrobe; kept for the next time"):
        bodies = make_demo_bodies()
        wardrobe = make_wardrobe(bodies)
        paths = write_demo(folder, bodies=bodies, wardrobe=wardrobe)
    for base in bodies:
        names = [name for name, garment in wardrobe.items() if garment.made_on == base]
        checked = _check(paths, base, names, shapes, workers if workers is not None else os.cpu_count() or 1)
        with progress(f"Drawing the {base}'s") as advance:
            write_results(checked, folder / RESULTS / base, advance)
        with whole_folder(folder / FITTED) as fitted:
            for one in checked.fitted:
                save_fit(one.fit, one.garment_file, checked.job.body_file, fitted / f"{one.fit.garment.name}.glb")
        print_report(checked.report, console)
        console.print()
    for words, path in (
        ("bodies and garments", folder),
        ("garments with morph targets, for an engine", folder / FITTED),
        ("results and pictures", folder / RESULTS),
    ):
        console.print(f"{words}: {path}")
    for base in bodies:
        console.print(f"all at a glance: {folder / RESULTS / base / 'sheet.png'}")
    return EXIT_CLEAN


def _check(paths: dict[str, Path], base: str, names: list[str], shapes: int, workers: int) -> Checked:
    """Check the garments that were cut for one base shape, read from the files just written."""
    how = Reading(base=base)
    body_file = read_body(paths["body"], how)
    job = CheckJob(
        body_file=body_file,
        garment_files=tuple(read_garments([paths[name] for name in names], how, Following(), worn_by=body_file.body)),
        ways=(DEFAULT_WAY,),
        following=Following(),
        settings=ShapeSettings(strongest=DEMO_STRONGEST, sobol=shapes),
        bands=DEFAULT_BANDS,
        workers=workers,
    )
    with progress(f"Checking the {base}'s") as advance:
        return check_garments(job, advance)
