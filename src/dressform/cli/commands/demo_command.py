"""`dressform demo`: the village of Saltmarsh made, checked and fitted."""

import os
from dataclasses import replace
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import ReadingOptions
from dressform.cli.checking import check_garments
from dressform.cli.console import out, progress, waiting
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.outputs import WritingOptions, check_outputs
from dressform.cli.reading import read_body, read_garments
from dressform.cli.seeded_truth import seeded_truth_table
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.demo.write import write_demo
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.load import BodyFile
from dressform.formats.out_folder import whole_folder
from dressform.garment.following import DEFAULT_METHOD
from dressform.jobs.check_result import CheckResult
from dressform.jobs.pictures import SHEET
from dressform.jobs.prove import prove
from dressform.jobs.report import report
from dressform.jobs.results_folder import write_results
from dressform.jobs.save import save
from dressform.proof.linear_mesh import linear_body
from dressform.report.tables.printing import print_summary
from dressform.report.tables.proof import Proof, proofs_table

DEFAULT_FOLDER = Path("saltmarsh")
DEFAULT_DEMO_SHAPES = 16
DEMO_STRONGEST = 3
RESULTS = "results"
FITTED = "fitted"
FAULTY = "faulty"
REPORT = "report.html"
REPORTED = 4
"""So many of the gravest garments of the first body are in the report."""


def demo(
    folder: Annotated[Path, Parameter(name="OUT", help="Folder to fill.")] = DEFAULT_FOLDER,
    /,
    *,
    shapes: Annotated[int, Parameter(help="Further evenly spread shapes to check.")] = (DEFAULT_DEMO_SHAPES),
    workers: Annotated[
        int | None, Parameter(help="Processes that measure at the same time. [default: one per processor]")
    ] = None,
    writing: WritingOptions | None = None,
) -> int:
    """Make the bodies and the wardrobe of Saltmarsh, check every garment over its body's range, and fit it."""
    check_outputs([], [], [folder], writing=writing)
    count = workers if workers is not None else os.cpu_count() or 1
    with waiting("Making bodies and wardrobe; they are kept for the next time"):
        bodies = make_demo_bodies()
        wardrobe = make_wardrobe(bodies)
        paths = write_demo(folder, bodies=bodies, wardrobe=wardrobe)
    truth = read_truth()
    worn = {base: [name for name, one in wardrobe.items() if one.made_on == base] for base in bodies}
    worn[FAULTY] = [fault.name for fault in truth.fault if fault.body == FAULTY]
    console = out()
    checked, proofs = {}, []
    for base, names in worn.items():
        how = ReadingOptions(base=None if base == FAULTY else base)
        methods = tuple(dict.fromkeys([DEFAULT_METHOD, *(fault.method for fault in truth.fault if fault.body == base)]))
        body_file = read_body(paths["faulty_body" if base == FAULTY else "body"], how)
        done = _check(body_file, paths, names, methods, shapes, count)
        with progress(f"Drawing on {done.report.body.name}") as advance:
            write_results(done, folder / RESULTS / base, progress=advance)
        if base == next(iter(worn)):
            with progress(f"Writing the report on {done.report.body.name}") as advance:
                report(_gravest(done), folder / REPORT, progress=advance)
        if base != FAULTY:
            _fit(done, folder / FITTED)
            proofs += _proven(done)
        print_summary(done.report, console)
        console.print()
        checked[base] = (body_file.body, done.report)
    console.print(seeded_truth_table(truth.fault, checked))
    console.print()
    console.print(proofs_table(proofs))
    console.print()
    for words, path in (
        ("bodies and garments as files", folder),
        ("garments with morph targets, for an engine", folder / FITTED),
        ("tables and pictures", folder / RESULTS),
        ("all garments at a glance", folder / RESULTS / next(iter(worn)) / SHEET),
        ("to be opened first, in a browser", folder / REPORT),
    ):
        console.print(f"{words}: {path}")
    return EXIT_CLEAN


def _gravest(done: CheckResult) -> CheckResult:
    """The same check with its gravest garments alone."""
    keys = [garment.key for garment in done.report.worst_first()[:REPORTED]]
    return replace(done, fits={key: one for key, one in done.fits.items() if key in keys})


def _fit(done: CheckResult, folder: Path) -> None:
    """Write every garment with its morph targets."""
    with whole_folder(folder) as partial:
        for one in done.fits.values():
            save(one, partial / f"{one.garment.name}.glb")


def _proven(done: CheckResult) -> list[Proof]:
    """What is certain of every garment as lifted, without a repair."""
    body = next(iter(done.fits.values())).body
    obstacle = linear_body(body)
    with waiting(f"Proving over the range of {body.name}"):
        return [prove(one, obstacle=obstacle) for one in done.fits.values()]


def _check(
    body_file: BodyFile,
    paths: dict[str, Path],
    names: list[str],
    methods: tuple[str, ...],
    shapes: int,
    workers: int,
) -> CheckResult:
    """Check the named garments on one body, all read from the files just written."""
    garments = read_garments([paths[name] for name in names], ReadingOptions(), worn_by=body_file.body)
    with progress(f"Checking on {body_file.body.name}") as advance:
        return check_garments(
            body_file.body, garments, methods, shapes=ShapeSettings(strongest=DEMO_STRONGEST, sobol=shapes),
            bands=DEFAULT_BANDS, workers=workers, progress=advance,
        )  # fmt: skip
