"""`dressform fit` of a wardrobe."""

import os
from collections.abc import Sequence
from pathlib import Path

from dressform.cli.arguments import FollowingOptions, ReadingOptions
from dressform.cli.console import out, progress
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.fit_options import Repairing
from dressform.cli.reading import read_body
from dressform.cli.settings import methods_asked, read_settings, settled
from dressform.cli.target_options import TargetOptions
from dressform.cli.telling import telling
from dressform.cli.wardrobe.opening import opened_engine, opened_store
from dressform.cli.wardrobe.options import WardrobeOptions
from dressform.errors import ArgumentError, FileError
from dressform.formats.frames.units import AxisOptions
from dressform.formats.guards.file_names import stem_of
from dressform.formats.out_folder import refuse_unwritable
from dressform.garment.following import Following
from dressform.jobs.stances import NONE, find_stances
from dressform.jobs.wardrobe.files import WardrobeFile, wardrobe_files
from dressform.jobs.wardrobe.fit import WardrobeFitted, fit_wardrobe
from dressform.jobs.wardrobe.fit_work import FittedLine
from dressform.jobs.wardrobe.run import is_known
from dressform.report.tables.wardrobe import EVERY, FAILED_SHOWN, LINES_SHOWN
from dressform.report.tables.whole_table import WholeTable
from dressform.units import counted


def run_wardrobe_fit(
    garments: Sequence[Path],
    body: Path,
    output: Path,
    *,
    method: str | None,
    workers: int | None,
    settings: Path | None,
    mend: Repairing,
    following: FollowingOptions | None,
    reading: ReadingOptions | None,
    wardrobe: WardrobeOptions,
    targets: TargetOptions,
) -> int:
    """Fit a wardrobe into a folder, and say how it ended. Arguments are the options of the command."""
    _refuse(garments, output, mend, method)
    shape, files = read_body(body, reading), wardrobe_files(garments, body=body)
    methods_asked("fit", [method] if method else None)
    how, options = reading or ReadingOptions(), following or FollowingOptions()
    saved = read_settings(settings, [file.path for file in files])

    def followed(file: WardrobeFile) -> Following:
        return settled(options, saved, stem_of(file.path), method=method, margin_mm=mend.margin)

    settled(options, {}, "", method=method, margin_mm=mend.margin)  # told before any work
    stances = find_stances(shape, mend.stances or NONE).stances
    with (
        opened_engine(wardrobe, os.cpu_count() or 1 if workers is None else workers) as engine,
        opened_store(wardrobe) as store,
        progress("fitting") as advance,
    ):
        found = fit_wardrobe(
            shape, files, output, following=followed, repairs=[name.strip() for name in mend.repairs.split(",")],
            keep_base=mend.keep_base, stances=stances, correctives=mend.correctives, clips=mend.clips,
            style=targets.style(), compress=targets.optimize,
            told=AxisOptions(how.garment_units or how.units, how.garment_up or how.up),
            engine=engine, store=store, progress=advance,
        )  # fmt: skip
    _print(found, output)
    faulty = any(line.faulty for line in found.lines)
    return EXIT_BAD_INPUT if found.failed else EXIT_FAULTS if faulty else EXIT_CLEAN


def _refuse(garments: Sequence[Path], output: Path, mend: Repairing, method: str | None) -> None:
    """Refuse what a wardrobe cannot have.

    Raises:
        ArgumentError: fits are not to be repaired, or code or a folder says where the cloth is.
        FileError: the folder cannot be written, or lies in a folder of garments.
    """
    for name, asked, wrong in (
        ("repair", "--no-repair", not mend.repair),
        ("as_targets", "--as-targets", mend.as_targets),
        ("method", repr(method), method is not None and not is_known([method])),
    ):
        if wrong:
            rule = "left out of a wardrobe, which is repaired and proven"
            raise ArgumentError.of("fit", name, rule, asked, "Name one garment")
    refuse_unwritable(output, is_folder=True)
    inside = next(
        (path for path in garments if path.is_dir() and output.resolve().is_relative_to(path.resolve())), None
    )
    if inside is not None:
        problem, advice = (
            f"lies in the wardrobe {inside}",
            "Name a folder elsewhere, or its files would be read next time",
        )
        raise FileError.of(output, "", problem, advice)


def _print(found: WardrobeFitted, output: Path) -> None:
    console, whole = out(), telling().verbose
    faulty = sum(line.faulty for line in found.lines)
    broken = f"; {len(found.failed)} could not be fitted" if found.failed else ""
    written = f"{counted(len(found.lines), 'garment')} written, {faulty or 'none'} of them still seen wrong{broken}"
    console.print(f"{written}.", style="bold")
    kept = f", {found.run.kept} of them done before" if found.run.kept else ""
    memory = f"; at most {found.run.peak_mb:.0f} MB in a process" if found.run.peak_mb else ""
    console.print(
        f"{found.body}: {counted(len(found.run.files), 'garment')}{kept}, in {found.run.seconds:.0f} s{memory}"
    )
    if found.lines:
        table = WholeTable("Garments, those still seen wrong first", lead=2)
        sizes = any(line.error_mm is not None for line in found.lines)
        for heading in ("garment", "verdict", "proof", *(("file, vertices off by at most",) if sizes else ())):
            table.add_column(heading, overflow="fold")
        shown = EVERY if whole else LINES_SHOWN
        for line in found.lines[:shown]:
            where = f" at {', '.join(line.stances)}" if line.stances else ""
            verdict = f"still seen wrong{where}" if line.faulty else "nothing shows through"
            table.add_row(line.name, verdict, line.proof, *((_size(line),) if sizes else ()))
        if len(found.lines) > shown:
            table.caption = f"and {len(found.lines) - shown} more: --verbose lists all"
        console.print()
        console.print(table)
    for one in found.failed if whole else found.failed[:FAILED_SHOWN]:
        console.print(one.sentence)
    console.print(f"wrote {output}")


def _size(line: FittedLine) -> str:
    off = "" if line.error_mm is None else f", {line.error_mm:.3f} mm"
    return f"{line.size / 1000:,.0f} kB{off}"
