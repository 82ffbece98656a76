"""`dressform compare`: two results, methods or settings over the same garments, shapes and stances."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.cli.arguments import FollowingOptions, ReadingOptions, StancesOption, stances_file
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import HTML, JSON, WritingOptions, check_outputs, write_file, wrote
from dressform.errors import ArgumentError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dressform.garment.following import Following
    from dressform.jobs.compare.gate import ReleaseGate
    from dressform.jobs.compare.run import Compared
    from dressform.jobs.compare.sides import Side

RESULTS, SETTINGS, REPAIRED = ".json", ".toml", "repaired"
DEFAULT_SOBOL = 16


def compare(
    sides: Annotated[
        list[str],
        Parameter(
            help="Two results files (.json); or two or more of: a method, METHOD+repaired, repaired (of smooth), "
            "a settings file (.toml). Each is compared with the first."
        ),
    ],
    /,
    *,
    body: Annotated[Path | None, Parameter(help="Body file, where methods or settings are compared.")] = None,
    garments: Annotated[
        list[Path] | None,
        Parameter(help="Garment files, or folders of them.", consume_multiple=True, negative=""),
    ] = None,
    shapes: Annotated[int, Parameter(help="Evenly spread shapes beside the ends and the worst.")] = DEFAULT_SOBOL,
    stances: StancesOption = "none",
    tolerance: Annotated[
        list[str] | None,
        Parameter(
            help="What may grow before it is graver: a share for all faults that keep their grade, as 0.1 or 10%; or "
            "for one fault an amount whatever its grade, as exposed=2cm2, depth=1mm or stretch=3; repeat it for more. "
            "[default: 5%]",
            negative="",
        ),
    ] = None,
    pair: Annotated[
        list[str] | None,
        Parameter(
            help="Garments of two results that are compared though their names differ: A=B; repeat it for more. A "
            "fitted file is paired by its receipt.",
            negative="",
        ),
    ] = None,
    other_files: Annotated[
        bool, Parameter(help="Compare garments of one name though their files differ.", negative="")
    ] = False,
    workers: Annotated[
        int | None, Parameter(help="Processes that measure at the same time. [default: one per processor]")
    ] = None,
    json_: Annotated[Path | None, Parameter(name="--json", help="Write the comparison to this file.")] = None,
    out_: Annotated[
        Path | None, Parameter(name="--out", help="Fill this folder: JSON, tables, pictures side by side.")
    ] = None,
    report: Annotated[
        Path | None, Parameter(help="Write one HTML file with all sides, linked, to be wiped one over the other.")
    ] = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Compare two results, or methods and settings, over the same garments, shapes and stances."""
    from dressform.cli.console import out, print_notes, progress
    from dressform.cli.gates import gate_of, pairs_of
    from dressform.formats.results.record import json_text
    from dressform.jobs.compare.run import compare as compare_checks
    from dressform.jobs.compare.run import report_comparison, write_comparison
    from dressform.report.tables.comparison import print_comparisons

    if len(sides) < 2:
        raise ArgumentError.of("compare", "sides", "two or more", f"{len(sides)}", "Name what is compared with what")
    stored = [Path(side) for side in sides if side.lower().endswith(RESULTS)]
    saved = [Path(side) for side in sides if side.lower().endswith(SETTINGS)]
    files = [path for path in garments or () if not path.is_dir()]
    inputs = [*stored, *saved, body, *files, stances_file(stances)]
    check_outputs(inputs, [(json_, JSON), (report, HTML)], [out_], reading=reading, writing=writing)
    gate, pairs = gate_of(tolerance), pairs_of(pair)
    if stored:
        _refuse_mixed(sides, stored, body, garments)
        found = compare_checks(*stored, tolerance=gate.share, limits=gate.limits, other_files=other_files, pairs=pairs)
    else:
        if pairs:
            rule, advice = "given for two results files alone", "Leave --pair out"
            raise ArgumentError.of("compare", "pairs", rule, ", ".join(pairs), advice)
        found = _measured(sides, body, garments, shapes, stances, gate, workers, following, reading)
    write_file(json_, json_text(found.told))
    why = write_comparison(found, out_) if out_ is not None else ()
    written = [json_, out_, report]
    if report is not None:
        with progress("writing the report") as advance:
            written.append(report_comparison(found, report, progress=advance))
    console = out()
    print_comparisons(found.told, console)
    if found.sides is not None:
        print_notes(console, next(iter(found.sides.check.fits.values())).body)
    for reason in why:
        console.print(f"note: {reason}")
    for line in wrote(*written):
        console.print(line)
    return EXIT_FAULTS if found.is_graver else EXIT_CLEAN


def _refuse_mixed(
    sides: "Sequence[str]",
    stored: "Sequence[Path]",
    body: Path | None,
    garments: "Sequence[Path] | None",
) -> None:
    """Refuse results files beside other sides, or with options of sides that are measured."""
    if len(stored) != 2 or len(sides) != 2:
        observed = f"{len(stored)} of {len(sides)}"
        raise ArgumentError.of("compare", "sides", "two results files, or none", observed, "Compare two at a time")
    if body is not None or garments:
        advice = "Leave them out, or name methods or settings to have both sides measured anew"
        rule, observed = "without --body and --garments", "one of these"
        raise ArgumentError.of("compare", "sides", f"results files {rule}", observed, advice)


def _measured(
    sides: "Sequence[str]",
    body: Path | None,
    garments: "Sequence[Path] | None",
    shapes: int,
    stances: str | None,
    gate: "ReleaseGate",
    workers: int | None,
    following: FollowingOptions | None,
    reading: ReadingOptions | None,
) -> "Compared":
    """Sides that are measured now."""
    from dressform.body.shapes import ShapeSettings
    from dressform.cli.console import progress
    from dressform.cli.reading import read_body, read_garments
    from dressform.jobs.compare.run import compare_sides
    from dressform.jobs.compare.sides import SideSettings
    from dressform.jobs.stances import find_stances

    meant = [_side(text, (following or FollowingOptions()).over(_default())) for text in sides]
    if body is None or not garments:
        missing, beside = ("body", "--garments") if body is None else ("garments", "--body")
        advice = "Say --body BODY --garments FILES, or name two results files"
        rule = f"given with {beside} where methods or settings are compared"
        raise ArgumentError.of("compare", missing, rule, "none", advice)
    shape = read_body(body, reading)
    asked = read_garments(_files(garments), reading, following, worn_by=shape).whole()
    with progress("comparing") as advance:
        settings = SideSettings(
            shapes=ShapeSettings(strongest=0, sobol=shapes),
            stances=find_stances(shape, stances).stances,
            workers=os.cpu_count() or 1 if workers is None else workers,
        )
        return compare_sides(shape, [one.garment for one in asked], meant, settings, gate=gate, progress=advance)


def _default() -> "Following":
    from dressform.garment.following import DEFAULT_FOLLOWING

    return DEFAULT_FOLLOWING


def _files(garments: "Sequence[Path]") -> list[Path]:
    """Garment files, those in folders by their names."""
    from dressform.formats.readers import READ_SUFFIXES

    files: list[Path] = []
    for path in garments:
        inside = sorted(one for one in path.iterdir() if one.suffix.lower() in READ_SUFFIXES) if path.is_dir() else []
        if path.is_dir() and not inside:
            raise ArgumentError.of("compare", "garments", "files or folders of them", f"{path} without", "Name others")
        files += inside or [path]
    return files


def _side(text: str, default: "Following") -> "Side":
    """A side by its name."""
    from dataclasses import replace

    from dressform.calls import likely
    from dressform.formats.following_file import read_following
    from dressform.garment.methods import METHODS
    from dressform.jobs.compare.sides import Side
    from dressform.jobs.methods.code import method_of

    def known(method: str) -> str:
        try:
            return method_of("compare", method)
        except ArgumentError as error:
            if error.argument != "method":
                raise
            ours = ", ".join(METHODS)
            rule = f"results (.json), settings (.toml), {REPAIRED}, or one of {ours}, file, module:function"
            advice = likely(method, (*METHODS, REPAIRED), "Use one of these")
            raise ArgumentError.of("compare", "sides", rule, repr(text), advice) from None

    if text.lower().endswith(SETTINGS):
        return Side(Path(text).stem, read_following(Path(text)), default)
    method, _, last = text.rpartition("+")
    if text == REPAIRED or (last == REPAIRED and method):
        named = replace(default, method=known(method)) if method else default
        return Side(text, {}, named, repaired=True)
    return Side(text, {}, replace(default, method=known(text)))
