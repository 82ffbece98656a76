"""`dressform case`: complaints saved, looked through, and replayed to see whether they are cured."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyOption, FollowingOptions, MethodOption, ReadingOptions, parse_weights
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import CASE, PNG, WritingOptions, check_outputs
from dressform.cli.settings import SettingsOption, read_settings
from dressform.errors import ArgumentError, FileError
from dressform.units import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dressform.body.body import Body

MAX_CASES = 10_000
BodiesOption = Annotated[
    list[Path],
    Parameter(
        name="--body",
        help="Body file; several where complaints speak of bodies in several files. Every base body counts.",
        consume_multiple=True,
        negative="",
    ),
]
GarmentsOption = Annotated[
    list[Path],
    Parameter(name="--garments", help="Garment files, or folders of them.", consume_multiple=True, negative=""),
]


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
    garment: Annotated[Path, Parameter(help="Garment file: .glb, .gltf, .obj, .ply, .dae or USD.")],
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
    shown = "" if case.shape is None else f" at {case.shape.label}"
    console.print(f"{case.garment.source.name} on {case.body.name}{shown}: {case.severity}", style="bold")
    print_notes(console, shape, made.garment)
    for outside in shape.range.outside(shape.weights(named)):
        console.print(f"note: {outside}")
    if case.place is not None:
        console.print(place_words(case.place))
    console.print(f"wrote {output}")
    return EXIT_CLEAN


def case_import(
    file: Annotated[
        Path, Parameter(help="List of complaints: .csv, .tsv or .txt with a line of column names, or .jsonl.")
    ],
    /,
    *,
    body: BodiesOption,
    garments: GarmentsOption,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help="Folder for the cases, one file each.")],
    settings: SettingsOption = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Make a case of every row of a list of complaints; rows that cannot be read are told, the others go on."""
    from dressform.cli.console import out, progress
    from dressform.jobs.case.import_complaints import import_complaints

    files = garment_paths("case import", garments)
    check_outputs([file, *body, *files, settings], [], [output], reading=reading, writing=writing)
    saved = read_settings(settings, files)
    with progress("reading complaints") as advance:
        found = import_complaints(
            file,
            output,
            bodies=read_all_bodies(body, reading),
            garments=files,
            following=saved,
            progress=advance,
        )
    console = out()
    console.print(found.line, style="bold")
    for note in found.notes:
        console.print(f"note: {note}")
    if found.columns:
        console.print(f"note: Kept as they are: the columns {', '.join(found.columns)}.")
    for line, first in found.doubled.items():
        console.print(f"line {line}: says the same as line {first}")
    for row in found.unread:
        console.print(f"line {row.line}: {row.reason}")
    if found.cases:
        console.print(f"wrote {output}")
    return EXIT_FAULTS if found.unread else EXIT_CLEAN


def garment_paths(command: str, given: "Sequence[Path]") -> list[Path]:
    """Garment files, those in folders by their names.

    Raises:
        ArgumentError: a folder holds none, or there are none at all.
    """
    from dressform.formats.readers import READ_SUFFIXES

    files: list[Path] = []
    for path in given:
        inside = sorted(one for one in path.iterdir() if one.suffix.lower() in READ_SUFFIXES) if path.is_dir() else []
        if path.is_dir() and not inside:
            raise ArgumentError.of(command, "garments", "files or folders of them", f"{path} without", "Name others")
        files += inside or [path]
    return files


def read_all_bodies(paths: "Sequence[Path]", reading: ReadingOptions | None) -> "list[Body]":
    """Every base body of some files."""
    from dressform.cli.reading import read_bodies

    return [one for path in paths for one in read_bodies(path, reading)]
