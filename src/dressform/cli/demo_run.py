"""The village of Saltmarsh made, checked and fitted, and what is said of it."""

from dataclasses import replace
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import ReadingOptions
from dressform.cli.console import out, progress, waiting
from dressform.cli.reading import read_body, read_garments
from dressform.cli.seeded_truth import seeded_truth_table
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.demo.write import write_demo
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.out_folder import refuse_unwritable, whole_folder
from dressform.garment.following import DEFAULT_METHOD
from dressform.jobs.check_garments import check_garments
from dressform.jobs.check_result import CheckResult
from dressform.jobs.pictures import SHEET
from dressform.jobs.prove import prove
from dressform.jobs.report import report
from dressform.jobs.results_folder import write_results
from dressform.jobs.save import save
from dressform.proof.linear_mesh import linear_body
from dressform.report.tables.printing import print_summary
from dressform.report.tables.proof import Proof, proofs_table

DEMO_STRONGEST = 3
RESULTS = "results"
FITTED = "fitted"
FAULTY = "faulty"
REPORT = "report.html"
REPORTED = 4
"""So many of the gravest garments of the first body are in the report."""


def run_demo(folder: Path, shapes: int, workers: int) -> None:
    """Make the bodies and the wardrobe of Saltmarsh, check every garment over its body's range, and fit it."""
    refuse_unwritable(folder, is_folder=True)
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
        body = read_body(paths["faulty_body" if base == FAULTY else "body"], how)
        done = _check(body, paths, names, methods, shapes, workers)
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
        checked[base] = (body, done.report)
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
    body: Body,
    paths: dict[str, Path],
    names: list[str],
    methods: tuple[str, ...],
    shapes: int,
    workers: int,
) -> CheckResult:
    """Check the named garments on one body, all read from the files just written."""
    garments = read_garments([paths[name] for name in names], ReadingOptions(), worn_by=body)
    with progress(f"Checking on {body.name}") as advance:
        return check_garments(
            body, [(one.garment, one.following) for one in garments], methods,
            shapes=ShapeSettings(strongest=DEMO_STRONGEST, sobol=shapes),
            bands=DEFAULT_BANDS, workers=workers, progress=advance,
        )  # fmt: skip
