"""`dressform suggest-following`: how garments should follow, by what each way leaves over the range."""

import os
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.shape_settings import DEFAULT_SOBOL
from dressform.cli.arguments import BodyOption, FollowingOptions, ReadingOptions, StancesOption, stances_file
from dressform.cli.exits import EXIT_BAD_INPUT, EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import JSON, TOML, WritingOptions, check_outputs, write_file, wrote
from dressform.cli.settings import SettingsOption, read_settings
from dressform.cli.telling import telling


def suggest_following(
    garments: Annotated[list[Path], Parameter(help="Garment files: .glb, .gltf, .obj, .ply, .dae or USD.")],
    /,
    *,
    body: BodyOption,
    shapes: Annotated[int, Parameter(help="Further evenly spread shapes of both checks.")] = DEFAULT_SOBOL,
    stances: StancesOption = None,
    bands: Annotated[
        Path | None, Parameter(help="TOML with the values from which a fault is slight, moderate, grave.")
    ] = None,
    workers: Annotated[
        int | None, Parameter(help="Processes that check at the same time. [default: one per processor]")
    ] = None,
    write: Annotated[
        Path | None,
        Parameter(help="Write the settings file that `check` and `fit` read with --settings, with a reason per line."),
    ] = None,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write all that was found to this file.")] = None,
    settings: SettingsOption = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Say how each garment should follow: on or off, how strongly, stiff, per part or painted; never what is graver."""
    from dressform.cli.console import out, print_notes, progress
    from dressform.cli.reading import read_body, read_garments, stances_of
    from dressform.faults.severity import DEFAULT_BANDS
    from dressform.formats.bands_file import read_bands
    from dressform.formats.results.record import json_text
    from dressform.jobs.suggest.run import suggest_following as suggest
    from dressform.jobs.suggest.run import write_suggestion
    from dressform.report.tables.suggestion import print_suggestions

    inputs = [body, *garments, bands, settings, stances_file(stances)]
    check_outputs(inputs, [(json_, JSON), (write, TOML)], reading=reading, writing=writing)
    saved, judged = read_settings(settings, garments), read_bands(bands) if bands else DEFAULT_BANDS
    shape = read_body(body, reading)
    asked = read_garments(garments, reading, following, worn_by=shape, saved=saved)
    found = stances_of(shape, stances, asked)
    with progress("suggesting") as advance:
        result = suggest(
            shape,
            [one.garment for one in asked.sound],
            {one.name: one.following for one in asked.sound},
            shapes=shapes,
            stances=found.stances,
            bands=judged,
            workers=os.cpu_count() or 1 if workers is None else workers,
            failed=asked.failed,
            progress=advance,
        )
    written = list(write_suggestion(result, write)) if write is not None else []
    write_file(json_, json_text(result.told))
    console = out()
    print_suggestions(result.told, console, whole=telling().verbose)
    print_notes(console, shape)
    for note in found.notes:
        console.print(f"note: {note}")
    for line in wrote(*written, json_):
        console.print(line)
    if result.told.failed:
        return EXIT_BAD_INPUT
    return EXIT_FAULTS if result.differs else EXIT_CLEAN
