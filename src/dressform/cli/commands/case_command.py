"""`dressform case`: complaints saved, looked through, and replayed to see whether they are cured."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyOption, FollowingOptions, MethodOption, ReadingOptions, parse_weights
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import CASE, PNG, WritingOptions, check_outputs
from dressform.cli.settings import SettingsOption, read_settings
from dressform.errors import FileError
from dressform.units import counted

MAX_CASES = 10_000


def case_replay(
    file: Annotated[Path, Parameter(help="A case.")],
    /,
    *,
    body: Annotated[Path | None, Parameter(help="Body file to use instead of the one that the case names.")] = None,
    garment: Annotated[Path | None, Parameter(help="Garment file to use instead.")] = None,
    picture: Annotated[
        Path | None, Parameter(help="Write a PNG of the case's own view: as it was saved, and as it is.")
    ] = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Measure the garment of a case again at its shape, and say whether it is still wrong at its place."""
    from dressform.cli.console import out, print_notes, waiting
    from dressform.cli.reading import allow_memory
    from dressform.formats.atomic import write_bytes
    from dressform.formats.frames.units import AxisOptions
    from dressform.formats.load import ReadOptions
    from dressform.jobs.case.replay import replay_case, then_and_now
    from dressform.report.pictures.picture import png_bytes

    check_outputs([file, body, garment], [(picture, PNG)], reading=reading, writing=writing)
    how = reading or ReadingOptions()
    allow_memory(how)
    options = ReadOptions(how.base, how.morphs, how.range_, how.units, how.up, how.front)
    with waiting("Fitting and measuring"):
        told = AxisOptions(how.garment_units, how.garment_up)
        replayed = replay_case(file, body=body, garment=garment, options=options, told=told)
    if picture is not None:
        write_bytes(picture, png_bytes(then_and_now(replayed)))
    console = out()
    console.print(str(replayed), soft_wrap=True)
    print_notes(console, replayed.seen.body, replayed.seen.fit.garment)
    if picture is not None:
        console.print(f"wrote {picture}")
    return EXIT_FAULTS if replayed.wrong else EXIT_CLEAN


def case_list(
    folder: Annotated[Path, Parameter(help="Folder with cases.")],
    /,
) -> int:
    """Group the cases of a folder by garment, place and cause, those most complained about first."""
    from dressform.cli.console import out
    from dressform.formats.case_file import CASE_SUFFIX, read_case
    from dressform.report.tables.cases import cases_table

    if not folder.is_dir():
        raise FileError.of(folder, "", "is no folder", "Name the folder that holds the cases")
    console, cases, unread = out(), [], []
    paths = sorted(folder.rglob(f"*{CASE_SUFFIX}"))
    if len(paths) > MAX_CASES:
        unread.append(f"Only the first {MAX_CASES:,} of {len(paths):,} cases were read.")
    for path in paths[:MAX_CASES]:
        try:
            cases.append((path, read_case(path)))
        except FileError as problem:
            unread.append(str(problem))
    beside = f", {counted(len(unread), 'note')}" if unread else ""
    found = counted(len(cases), "case") if cases else "No case"
    console.print(f"{found} in {folder}{beside}.", style="bold")
    if cases:
        console.print(cases_table(cases, folder))
    else:
        console.print(f"A case ends with {CASE_SUFFIX}.")
    for words in unread:
        console.print(f"note: {words}")
    return EXIT_CLEAN


def case_save(
    garment: Annotated[Path, Parameter(help="Garment file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    body: BodyOption,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help="The case to write, ending .case.json.")],
    weights: Annotated[str | None, Parameter(help="Shape: MORPH=WEIGHT, separated by commas. [default: base]")] = None,
    note: Annotated[str, Parameter(help="What is wrong, in your words.")] = "",
    fault: Annotated[
        str | None,
        Parameter(help="Which fault it is about, such as exposed; a wrong name lists all. [default: the gravest]"),
    ] = None,
    method: MethodOption = None,
    repaired: Annotated[bool, Parameter(help="Repair the garment over the whole range first.")] = False,
    settings: SettingsOption = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Save a complaint about a garment at a shape, with what is measured there and a picture."""
    from dressform.cli.console import out, print_notes, waiting
    from dressform.cli.reading import read_body, read_garments
    from dressform.jobs.case.save import save_case
    from dressform.jobs.fit import fit
    from dressform.report.tables.cases import place_words

    check_outputs([garment, body, settings], [(output, CASE)], reading=reading, writing=writing)
    saved = read_settings(settings, [garment])
    named = parse_weights("case save", weights) if weights else {}
    shape = read_body(body, reading)
    (asked,) = read_garments(
        [garment], reading, following, worn_by=shape, saved=saved, method=method, as_filed=True
    ).whole()
    with waiting("Fitting and measuring"):
        made = fit(shape, asked.garment, asked.following)
        case = save_case(made, output, named, note=note, fault=fault, repaired=repaired)
    console = out()
    console.print(
        f"{case.garment.source.name} on {case.body.name} at {case.shape.label}: {case.severity}", style="bold"
    )
    print_notes(console, shape, made.garment)
    for outside in shape.range.outside(shape.weights(named)):
        console.print(f"note: {outside}")
    if case.place is not None:
        console.print(place_words(case.place))
    console.print(f"wrote {output}")
    return EXIT_CLEAN
