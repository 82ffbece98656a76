"""`dressform check` of a wardrobe."""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from dressform.body.shape_settings import ShapeSettings
from dressform.cli.arguments import FollowingOptions, ReadingOptions
from dressform.cli.console import out, progress
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.gate_options import GateOptions
from dressform.cli.gate_run import judge_lines
from dressform.cli.outputs import STANDARD, wrote
from dressform.cli.reading import read_body
from dressform.cli.settings import methods_asked, read_settings, settled
from dressform.cli.telling import telling
from dressform.cli.wardrobe.opening import opened_engine, opened_store
from dressform.cli.wardrobe.options import WardrobeOptions
from dressform.errors import ArgumentError
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import Bands
from dressform.formats.frames.units import AxisOptions
from dressform.formats.gate.rules_file import Rules
from dressform.formats.guards.file_names import stem_of
from dressform.formats.results.check_report import FAULTY
from dressform.formats.results.receipt_read import following_by_receipt
from dressform.garment.following import Following
from dressform.jobs.arguments import shape_settings
from dressform.jobs.check import DEFAULT_SHAPES
from dressform.jobs.stances import find_stances
from dressform.jobs.wardrobe.check import WardrobeChecked, check_wardrobe
from dressform.jobs.wardrobe.files import TOGETHER, WardrobeFile, wardrobe_files
from dressform.jobs.wardrobe.results import summary_of, wardrobe_json, write_wardrobe, write_wardrobe_json
from dressform.jobs.wardrobe.run import is_known
from dressform.report.tables.wardrobe import print_wardrobe


@dataclass(frozen=True)
class WardrobeWords:
    """The options of `dressform check`, as far as a wardrobe is concerned."""

    garments: Sequence[Path]
    body: Path
    method: list[str] | None
    shapes: int | None
    stances: str | None
    bands: Bands
    workers: int | None
    causes: bool
    margin: float | None
    json: Path | None
    out: Path | None
    settings: Path | None
    following: FollowingOptions | None
    reading: ReadingOptions | None
    wardrobe: WardrobeOptions
    gate: GateOptions
    rules: Rules


def run_wardrobe_check(asked: WardrobeWords) -> int:
    """Check a wardrobe, print and write what was found, and say how it ended."""
    body = read_body(asked.body, asked.reading)
    files = wardrobe_files(asked.garments, body=asked.body)
    methods = methods_asked("check", asked.method)
    how, options = asked.reading or ReadingOptions(), asked.following or FollowingOptions()
    saved = read_settings(asked.settings, [file.path for file in files])
    shapes = DEFAULT_SHAPES if asked.shapes is None else asked.shapes
    looked: ShapeSettings = shape_settings("check", shapes, DEFAULT_SHAPES)

    def following(file: WardrobeFile) -> Following:
        carried = following_by_receipt(file.path)
        name = stem_of(file.path)
        known = saved if name in saved or carried is None else {**saved, name: carried}
        return settled(options, known, name, margin_mm=asked.margin)

    found = find_stances(body, asked.stances)
    settled(options, {}, "", margin_mm=asked.margin)  # an option that is not valid is told before any work
    told = AxisOptions(how.garment_units or how.units, how.garment_up or how.up)
    workers = os.cpu_count() or 1 if asked.workers is None else asked.workers
    with (
        opened_engine(asked.wardrobe, workers) as engine,
        opened_store(asked.wardrobe, forgets=not is_known(methods)) as store,
    ):
        if not engine.is_local and not is_known(methods):
            rule, advice = "processes where code or a folder says where the cloth is", "Leave --engine out"
            raise ArgumentError.of("check", "engine", rule, repr(asked.wardrobe.engine), advice)
        with progress("checking") as advance:
            checked = check_wardrobe(
                body, files, following=following, methods=methods, shapes=looked, stances=found.stances,
                bands=asked.bands, causes=asked.causes, told=told, engine=engine, store=store, progress=advance,
            )  # fmt: skip
        _told(checked, asked, notes=found.notes, workers=engine.workers)
        store.remove(checked.run.fleeting, shrink=False)
    if asked.gate.is_asked:
        return judge_lines(
            checked.lines, body.name, checked.run.files, checked.failed, asked.gate, asked.rules,
            seconds=checked.run.seconds,
        )  # fmt: skip
    faulty = any(SEVERITIES.index(one.severity) >= SEVERITIES.index(FAULTY) for one in checked.lines)
    return EXIT_BAD_INPUT if checked.failed else EXIT_FAULTS if faulty else EXIT_CLEAN


def refuse_together(*, report: Path | None, outfit: object, marked: Path | None) -> None:
    """Refuse what needs garments side by side.

    Raises:
        ArgumentError: an HTML report, an outfit or a marked copy is asked for.
    """
    for name, given in (("report", report), ("outfit", outfit), ("marked", marked)):
        if given is not None:
            rule = f"left out of a wardrobe: folders, patterns, more than {TOGETHER} files, or an engine"
            raise ArgumentError.of("check", name, rule, str(given), "Name the few garments that it is about")


def _told(checked: WardrobeChecked, asked: WardrobeWords, *, notes: Sequence[str], workers: int) -> None:
    """Files first: a reader of stdout that goes away early must not cost them."""
    if asked.json == STANDARD:
        for piece in wardrobe_json(checked, workers=workers):
            print(piece, end="")
    elif asked.json is not None:
        write_wardrobe_json(checked, asked.json, workers=workers)
    if asked.out is not None:
        write_wardrobe(checked, asked.out, workers=workers)
    console = out()
    print_wardrobe(summary_of(checked), console, whole=telling().verbose)
    for note in notes:
        console.print(f"note: stances: {note}")
    for line in wrote(asked.json, asked.out):
        console.print(line)
