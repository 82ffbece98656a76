"""The village of Saltmarsh made, checked and fitted, and what is said of it."""

import time
from dataclasses import dataclass, replace
from pathlib import Path

from rich.console import Console

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import ReadingOptions
from dressform.cli.console import out, progress, waiting
from dressform.cli.reading import read_body, read_garments
from dressform.cli.seeded_truth import seeded_truth_table
from dressform.demo.body import make_demo_bodies
from dressform.demo.complaints import COMPLAINTS_FILE
from dressform.demo.wardrobe import DESIGNS, LEVELS, make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.demo.write import LEVEL_FOLDER, write_demo, write_levels, write_wardrobe
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.out_folder import refuse_unwritable
from dressform.formats.results.check_report import CheckReport
from dressform.garment.following import DEFAULT_METHOD
from dressform.jobs.check_garments import check_garments
from dressform.jobs.check_result import CheckResult
from dressform.jobs.explain.explain import explain
from dressform.jobs.kernels import compiling
from dressform.jobs.pictures import SHEET
from dressform.jobs.repair_garments import repair_garments
from dressform.jobs.report import report
from dressform.jobs.results_folder import write_results
from dressform.report.tables.printing import print_findings, print_summary
from dressform.report.tables.proof import Proof, proofs_table
from dressform.units import counted

DEMO_STRONGEST = 3
FIRST = ("trousers", "guernsey_coarse", "waistcoat", "clogs")
"""The garments of the first job, all cut for one body; one has a fault built in."""
RESULTS = "results"
FITTED = "fitted"
FAULTY = "faulty"
REPORT = "report.html"
REPORTED = 4
"""So many of the gravest garments of the first body are in the report."""


def run_demo(folder: Path, shapes: int, workers: int, clock: "Clock", *, everything: bool) -> bool:
    """Make the bodies and the wardrobe of Saltmarsh, and do the whole job with some garments or with all of them.

    Returns:
        Whether every garment was sound.
    """
    refuse_unwritable(folder, is_folder=True)
    with compiling():
        return _run(folder, shapes, workers, clock, everything=everything)


def _run(folder: Path, shapes: int, workers: int, clock: "Clock", *, everything: bool) -> bool:
    """The same, once it is known that the folder can be written."""
    console = out()
    with waiting("Making the bodies and the first garments; this takes half a minute once, then they are kept"):
        bodies = make_demo_bodies()
        wardrobe = make_wardrobe(bodies, names=DESIGNS if everything else FIRST)
        paths = write_demo(folder, bodies=bodies, wardrobe=wardrobe)
    console.print(f"{clock.so_far()}: {len(bodies)} bodies made, and {counted(len(wardrobe), 'garment')}")
    truth = read_truth()
    worn = {base: [name for name, one in wardrobe.items() if one.made_on == base] for base in bodies}
    worn[FAULTY] = [fault.name for fault in truth.fault if everything and fault.body == FAULTY]
    checked: dict[str, tuple[Body, CheckReport]] = {}
    proofs: list[Proof] = []
    for base, names in ((base, names) for base, names in worn.items() if names):
        how = ReadingOptions(base=None if base == FAULTY else base)
        seeded = [fault.method for fault in truth.fault if everything and fault.body == base]
        body = read_body(paths["faulty_body" if base == FAULTY else "body"], how)
        done = _check(body, paths, names, tuple(dict.fromkeys([DEFAULT_METHOD, *seeded])), shapes, workers)
        done = _tell(done, folder, base, console, clock, report_too=not checked)
        if base != FAULTY:
            with progress(f"Repairing on {body.name}") as advance:
                proofs += repair_garments(done.fits, folder / FITTED, workers=workers, progress=advance)
            console.print(f"{clock.so_far()}: repaired, proven and written\n")
        checked[base] = (body, done.report)
    if everything:
        console.print(seeded_truth_table(truth.fault, checked))
        console.print()
    else:
        with waiting("Making the other garments"):
            write_wardrobe(folder, make_wardrobe(bodies))
    with waiting("Making a coarser level of detail"):
        write_levels(folder, make_wardrobe(bodies, names=LEVELS))
    console.print(f"{clock.so_far()}: all written\n")
    console.print(proofs_table(proofs))
    console.print()
    for words, path in (
        ("bodies and garments as files", folder),
        ("a coarser level of the guernsey, for `dressform fit --levels`", folder / LEVEL_FOLDER),
        ("complaints of their wearers, for `dressform case import` and `triage`", folder / COMPLAINTS_FILE),
        ("repaired garments with morph targets, for an engine, each with its receipt", folder / FITTED),
        ("tables and pictures", folder / RESULTS),
        ("all garments at a glance", folder / RESULTS / next(iter(worn)) / SHEET),
        ("to be opened first, in a browser", folder / REPORT),
    ):
        console.print(f"{words}: {path}")
    return not any(report.failed for _, report in checked.values())


def _tell(
    done: CheckResult, folder: Path, base: str, console: Console, clock: "Clock", *, report_too: bool
) -> CheckResult:
    """Print what a check found, explain it, and write tables, pictures and the report; the same with causes."""
    name = done.report.body.name
    console.print(f"{clock.so_far()}: checked over the range of {name}\n")
    print_summary(done.report, console)
    with progress(f"Finding causes on {name}") as advance:
        done = explain(done, progress=advance)
    console.print(f"\n{clock.so_far()}: causes found, each thing to do done and measured again")
    print_findings(_gravest(done, 1).report, console)
    with progress(f"Drawing on {name}") as advance:
        write_results(done, folder / RESULTS / base, progress=advance)
    if report_too:
        with progress(f"Writing the report on {name}") as advance:
            report(_gravest(done, REPORTED), folder / REPORT, progress=advance)
    console.print(f"\n{clock.so_far()}: pictures drawn, results written")
    return done


@dataclass(frozen=True)
class Clock:
    """Says how long it has taken.

    Attributes:
        start: When the command began, by `time.perf_counter`.
    """

    start: float

    def so_far(self) -> str:
        """Seconds since then, in words."""
        return f"after {time.perf_counter() - self.start:.0f} s"


def _gravest(done: CheckResult, count: int) -> CheckResult:
    """The same check with its gravest garments alone."""
    keys = [garment.key for garment in done.report.worst_first()[:count]]
    return replace(done, fits={key: one for key, one in done.fits.items() if key in keys})


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
            body, [(one.garment, one.following) for one in garments.sound], methods,
            shapes=ShapeSettings(strongest=DEMO_STRONGEST, sobol=shapes),
            bands=DEFAULT_BANDS, workers=workers, causes=False, failed=garments.failed, progress=advance,
        )  # fmt: skip
