"""`dressform check`: every fault of garments over the range of a body."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.body.shape_settings import DEFAULT_AT_STANCES, DEFAULT_SOBOL
from dressform.cli.arguments import (
    BodyOption,
    FollowingOptions,
    MethodsOption,
    ReadingOptions,
    StancesOption,
    stances_file,
)
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.gate_options import GateOptions
from dressform.cli.makers import makers_reports, refuse_unknown_makers
from dressform.cli.outputs import (
    GLB,
    HTML,
    JSON,
    JUNIT,
    MARKDOWN,
    SARIF,
    STORE,
    WritingOptions,
    check_outputs,
    write_file,
    wrote,
)
from dressform.cli.settings import SettingsOption, methods_asked, read_settings
from dressform.cli.telling import telling
from dressform.cli.wardrobe.options import WardrobeOptions
from dressform.garment.choices import DEFAULT_MARGIN_MM

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dressform.jobs.check_result import CheckResult


FEWER_AT_STANCES = (
    f"At each stance {DEFAULT_AT_STANCES} of the {DEFAULT_SOBOL} evenly spread shapes are looked at, beside the base, "
    f"the worst corners and what a search finds; --shapes {DEFAULT_SOBOL} looks at all of them there."
)


def check(
    garments: Annotated[
        list[Path] | None,
        Parameter(help="Garment files: .glb, .gltf, .obj, .ply, .dae or USD; folders of them; or patterns, quoted."),
    ] = None,
    /,
    *,
    body: BodyOption,
    outfit: Annotated[
        tuple[Path, str] | None,
        Parameter(
            help="TOML of outfits and the name of one: its garments are checked as worn together.", negative_iterable=""
        ),
    ] = None,
    method: MethodsOption = None,
    shapes: Annotated[
        int | None,
        Parameter(
            help="Further evenly spread shapes to check, at each stance too. "
            f"[default: {DEFAULT_SOBOL}, and {DEFAULT_AT_STANCES} at each stance]"
        ),
    ] = None,
    stances: StancesOption = None,
    bands: Annotated[
        Path | None, Parameter(help="TOML with the values from which a fault is slight, moderate, grave.")
    ] = None,
    workers: Annotated[
        int | None, Parameter(help="Processes that measure at the same time. [default: one per processor]")
    ] = None,
    causes: Annotated[
        bool, Parameter(help="Find out why each fault is there, and what its maker should change.")
    ] = True,
    margin: Annotated[
        float | None,
        Parameter(
            help=f"Margin: least distance from the skin that advice aims for, mm. [default: {DEFAULT_MARGIN_MM:g}]"
        ),
    ] = None,
    json_: Annotated[Path | None, Parameter(name="--json", help="Write the results to this file.")] = None,
    out_: Annotated[
        Path | None, Parameter(name="--out", help="Fill this folder with results, tables and pictures.")
    ] = None,
    report: Annotated[
        Path | None,
        Parameter(help="Write one HTML file that can be mailed and opened offline, and its pictures beside it."),
    ] = None,
    marked: Annotated[
        Path | None,
        Parameter(help="Write the one garment that is checked to this .glb, its faults on it as vertex colours."),
    ] = None,
    for_maker: Annotated[
        list[str] | None,
        Parameter(
            help="With --report: also write a report of this garment alone, for its maker, as FILE-NAME.html; repeat "
            "it for more.",
            negative_iterable="",
        ),
    ] = None,
    settings: SettingsOption = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
    wardrobe: WardrobeOptions | None = None,
    gate: GateOptions | None = None,
) -> int:
    """Measure every fault of garments over the range of a body, the worst shapes first."""
    from dressform.cli.console import out, progress
    from dressform.cli.gate_run import judge_report, rules_of
    from dressform.cli.reading import read_body, read_garments, stances_of
    from dressform.cli.wardrobe.check import WardrobeWords, refuse_together, run_wardrobe_check
    from dressform.errors import ArgumentError
    from dressform.faults.severity import DEFAULT_BANDS
    from dressform.formats.bands_file import read_bands
    from dressform.formats.guards.file_names import stem_of
    from dressform.formats.outfit_file import outfit_files
    from dressform.jobs.check import DEFAULT_SHAPES
    from dressform.jobs.check_garments import check_garments
    from dressform.jobs.marked import refuse_marked
    from dressform.jobs.wardrobe.files import is_wardrobe
    from dressform.report.tables.printing import print_report

    worn, kept = outfit_files(*outfit) if outfit else (), wardrobe or WardrobeOptions()
    judging = gate or GateOptions()
    garments = [*(garments or ()), *(path for path in worn if path not in (garments or ()))]
    if not garments:
        raise ArgumentError.of("check", "garments", "one file or more, or an outfit", "none", "Name garment files")
    alone = makers_reports(report, for_maker or ())
    inputs, files = (
        [
            body,
            *(path for path in garments if not path.is_dir()),
            bands,
            settings,
            stances_file(stances),
            judging.rules,
        ],
        [
            (json_, JSON),
            (report, HTML),
            (marked, GLB),
            (kept.store, STORE),
            (judging.junit, JUNIT),
            (judging.sarif, SARIF),
            (judging.summary, MARKDOWN),
            *((path, HTML) for path in alone.values()),
        ],
    )
    check_outputs(inputs, files, [out_], reading=reading, writing=writing)
    methods = methods_asked("check", method)
    rules = rules_of(judging)
    judged = read_bands(bands) if bands else rules.bands or DEFAULT_BANDS
    if kept.is_asked or is_wardrobe(garments):
        refuse_together(report=report, outfit=outfit, marked=marked)
        return run_wardrobe_check(
            WardrobeWords(garments, body, method, shapes, stances, judged, workers, causes, margin, json_, out_,
                          settings, following, reading, kept, judging, rules)
        )  # fmt: skip
    refuse_marked(marked, len(garments) * max(1, len(methods)))  # without options, by its own
    saved, shape = read_settings(settings, garments), read_body(body, reading)
    asked = read_garments(garments, reading, following, worn_by=shape, saved=saved, margin_mm=margin, as_filed=True)
    refuse_unknown_makers(alone, [one.garment.name for one in asked.sound])
    found = stances_of(shape, stances, asked)
    with progress("fitting") as advance:
        result = check_garments(
            shape, [(one.garment, one.following) for one in asked.sound], methods,
            shapes=DEFAULT_SHAPES if shapes is None else shapes, stances=found.stances, bands=judged,
            causes=causes, worn=[stem_of(path) for path in worn],
            store=None if kept.no_store else kept.store, failed=asked.failed, progress=advance,
            workers=os.cpu_count() or 1 if workers is None else workers,
        )  # fmt: skip
    # Files first: a reader of stdout that goes away early must not cost them.
    written, said = _write_files(result, json_, out_, report, alone, marked)
    console = out()
    few = (FEWER_AT_STANCES,) if shapes is None and found.stances else ()
    print_report(result.report, console, notes=(*found.notes, *few, *said), whole=telling().verbose)
    for line in wrote(*written):
        console.print(line)
    if judging.is_asked:
        return judge_report(result.report, judging, rules)
    return EXIT_BAD_INPUT if result.failed else EXIT_FAULTS if result.faulty else EXIT_CLEAN


def _write_files(
    result: "CheckResult",
    json_: Path | None,
    folder: Path | None,
    report: Path | None,
    alone: "Mapping[str, Path]",
    marked: Path | None,
) -> tuple[list[Path | None], tuple[str, ...]]:
    """Write what was asked for; the files, and what should be said aloud."""
    from dressform.cli.console import progress
    from dressform.formats.results.check_json import results_json
    from dressform.jobs import report as jobs
    from dressform.jobs.marked import marked as write_marked
    from dressform.jobs.results_folder import write_results

    written: list[Path | None] = [json_, folder, report]
    said: tuple[str, ...] = ()
    if json_ is not None:
        write_file(json_, results_json(result.report))
    if folder is not None:
        with progress("drawing") as advance:
            write_results(result, folder, progress=advance)
    if report is not None:
        with progress("writing the report") as advance:
            written.append(jobs.report(result, report, progress=advance))
            for name, path in alone.items():
                jobs.report(result, path, for_maker=name, progress=advance)
                written.append(path)
    if marked is not None and result.fits:
        said = write_marked(result, marked)
        written.append(marked)
    return written, said
