"""`dressform fit --levels`: levels of detail fitted together into a folder, and how it ended."""

from collections.abc import Sequence
from pathlib import Path

from dressform.cli.arguments import FollowingOptions, ReadingOptions
from dressform.cli.console import out, print_notes, waiting
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.fit_options import Repairing
from dressform.cli.levels.options import POP_MM, LevelOptions
from dressform.cli.reading import Asked, read_body, read_garments
from dressform.cli.settings import read_settings
from dressform.cli.target_options import TargetOptions
from dressform.errors import ArgumentError
from dressform.formats.out_folder import refuse_unwritable
from dressform.jobs.levels.fit import fit_levels
from dressform.jobs.levels.save import PAGE, RECORD, save_levels
from dressform.jobs.stances import NONE, find_stances
from dressform.report.levels.table import level_sentence, levels_line, levels_table


def run_levels_fit(
    garments: Sequence[Path],
    body: Path | None,
    output: Path,
    *,
    how: LevelOptions,
    method: str | None,
    settings: Path | None,
    mend: Repairing,
    following: FollowingOptions | None,
    reading: ReadingOptions | None,
    targets: TargetOptions,
) -> int:
    """Fit the levels of one garment. Arguments are the options of the command."""
    _refuse(how, body, mend)
    refuse_unwritable(output, is_folder=True)
    files = how.body_levels or [path for path in (body,) if path is not None]
    if len(files) > len(garments):
        rule = f"at most one for each of {len(garments)} levels"
        raise ArgumentError.of("fit", "body_levels", rule, str(len(files)), "Name as many garments as bodies")
    read = {path: read_body(path, reading) for path in dict.fromkeys(files)}
    bodies = [read[path] for path in files]
    bodies += bodies[-1:] * (len(garments) - len(bodies))
    saved = read_settings(settings, list(garments))
    asked: list[Asked] = []
    for path, skin in zip(garments, bodies):
        asked += read_garments(
            [path], reading, following, worn_by=skin, saved=saved, method=method, margin_mm=mend.margin
        ).whole()
    stances = find_stances(bodies[0], mend.stances or NONE).stances
    with waiting("Fitting and repairing every level"):
        levels = fit_levels(
            [one.garment for one in asked], bodies, asked[0].following,
            repairs=[name.strip() for name in mend.repairs.split(",")], keep_base=mend.keep_base, stances=stances,
            correctives=mend.correctives, clips=mend.clips, pop_mm=POP_MM if how.pop is None else how.pop,
        )  # fmt: skip
    if targets.is_read_back:
        with waiting("Making the files small"):
            levels = levels.made_small(targets.style(), compress=targets.optimize)
    with waiting("Proving, measuring and comparing every level"):
        saved_levels = save_levels(levels, output, style=targets.style())
    told, console = saved_levels.record, out()
    console.print(levels_line(told), style="bold")
    console.print()
    console.print(levels_table(told))
    console.print()
    for one in told.levels:
        if one.beside is not None:
            console.print(level_sentence(one))
    for level, skin in zip(asked, bodies):
        print_notes(console, skin, level.garment)
    for note in saved_levels.notes:
        console.print(f"note: {note}")
    for file in saved_levels.files:
        console.print(f"wrote {file}")
    console.print(f"wrote {output / RECORD} and {output / PAGE}")
    return EXIT_FAULTS if told.faulty else EXIT_CLEAN


def _refuse(how: LevelOptions, body: Path | None, mend: Repairing) -> None:
    """Refuse what levels cannot have.

    Raises:
        ArgumentError: options of levels without levels, none or two kinds of bodies, or levels that are not repaired.
    """
    if not how.levels:
        name, given = ("body_levels", "--body-levels") if how.body_levels is not None else ("pop", f"--pop {how.pop:g}")
        raise ArgumentError.of("fit", name, "left out without --levels", given, "Say --levels, too")
    if body is not None and how.body_levels is not None:
        rule, advice = "left out beside --body-levels", "Name the body of the finest level first in --body-levels"
        raise ArgumentError.of("fit", "body", rule, str(body), advice)
    for name, asked, wrong in (
        ("repair", "--no-repair", not mend.repair),
        ("as_targets", "--as-targets", mend.as_targets),
    ):
        if wrong:
            rule = "left out of levels, which are repaired and proven"
            raise ArgumentError.of("fit", name, rule, asked, "Name one garment")
