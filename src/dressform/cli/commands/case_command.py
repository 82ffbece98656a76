"""`dressform case`: complaints saved, looked through, and replayed to see whether they are cured."""

from pathlib import Path
from typing import Annotated

import numpy as np
from cyclopts import Parameter
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.shapes import label_of
from dressform.cli.arguments import BodyOption, FollowingOptions, MethodOption, ReadingOptions, parse_weights
from dressform.cli.case_files import find_file, sha256_of
from dressform.cli.case_replaying import Replayed, cautions, then_and_now
from dressform.cli.case_tables import cases_table, faults_table, place_words
from dressform.cli.console import out, waiting
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import CASE, PNG, WritingOptions, check_outputs
from dressform.cli.reading import read_bodies, read_body, read_garments
from dressform.cli.settings import SettingsOption, read_settings, settled
from dressform.errors import ArgumentError, FileError
from dressform.faults.registry import FAULTS
from dressform.formats.atomic import write_bytes
from dressform.formats.case_file import (
    CASE_SUFFIX,
    Case,
    CaseFile,
    CaseGarment,
    CaseShape,
    CaseView,
    picture_text,
    read_case,
    write_case,
)
from dressform.formats.guards.file_names import path_text, stem_of
from dressform.formats.load import BodyFile, body_file_of, garment_file_of
from dressform.garment.following import Following
from dressform.jobs.fit import fit
from dressform.jobs.provenance import now, versions
from dressform.jobs.repair import repair
from dressform.jobs.seeing import (
    Seen,
    case_faults,
    picture_of,
    see,
    view_of,
)
from dressform.report.pictures.camera import Camera
from dressform.report.pictures.faults import look_at
from dressform.report.pictures.looks import look_of
from dressform.report.pictures.picture import png_bytes

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
    check_outputs([file, body, garment], [(picture, PNG)], reading=reading, writing=writing)
    case, how = read_case(file), reading or ReadingOptions()
    found_body = find_file(file, case.body, "body", given=body)
    found_garment = find_file(file, case.garment.source, "garment", given=garment)
    body_file = _base_body(found_body.path, how, case.body.name)
    weights = body_file.body.weights(case.shape.weights)
    with waiting("Fitting and measuring"):
        seen = _see(body_file.body, found_garment.path, weights, case.garment.following, how, case.garment.repaired)
    replayed = Replayed(case, seen, found_body.same, found_garment.same)
    if picture is not None:
        write_bytes(picture, png_bytes(then_and_now(replayed)))
    console = out()
    console.print(f"{case.garment.source.name} on {case.body.name} at {case.shape.label}, saved {case.made}")
    for line in case.note.splitlines():
        console.print(f"  {line}")
    for caution in cautions(replayed, found_body, found_garment):
        console.print(f"note: {caution}")
    console.print()
    console.print(faults_table(case.faults, case_faults(seen.faults)))
    console.print()
    for line in replayed.verdict:
        console.print(line)
    if picture is not None:
        console.print(f"wrote {picture}")
    return EXIT_FAULTS if replayed.wrong else EXIT_CLEAN


def case_list(
    folder: Annotated[Path, Parameter(help="Folder with cases.")],
    /,
) -> int:
    """Group the cases of a folder by garment, place and cause, those most complained about first."""
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
    if cases:
        console.print(cases_table(cases, folder))
    else:
        console.print(f"No case in {folder}: a case ends with {CASE_SUFFIX}.")
    for words in unread:
        console.print(f"note: {words}")
    return EXIT_CLEAN


def case_save(
    garment: Annotated[Path, Parameter(help="Garment file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    body: BodyOption,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help=f"The case to write, ending {CASE_SUFFIX}.")],
    weights: Annotated[str | None, Parameter(help="Shape: MORPH=WEIGHT, separated by commas. [default: base]")] = None,
    note: Annotated[str, Parameter(help="What is wrong, in your words.")] = "",
    fault: Annotated[
        str | None, Parameter(help=f"Which fault it is about: {', '.join(FAULTS)}. [default: the gravest]")
    ] = None,
    method: MethodOption = None,
    repaired: Annotated[bool, Parameter(help="Repair the garment over the whole range first.")] = False,
    settings: SettingsOption = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Save a complaint about a garment at a shape, with what is measured there and a picture."""
    if fault is not None and fault not in FAULTS:
        raise ArgumentError.of("case save", "fault", f"one of {', '.join(FAULTS)}", repr(fault), "Use one of these")
    check_outputs([garment, body, settings], [(output, CASE)], reading=reading, writing=writing)
    how, options = reading or ReadingOptions(), following or FollowingOptions()
    mine = settled(options, read_settings(settings, [garment]), stem_of(garment), method=method)
    body_file = read_body(body, how)
    vector = body_file.body.weights(parse_weights("case save", weights) if weights else {})
    with waiting("Fitting and measuring"):
        seen = _see(body_file.body, garment, vector, mine, how, repaired)
    case = _case_of(seen, note=note, fault=fault, repaired=repaired)
    write_case(output, case)
    console = out()
    console.print(f"{case.garment.source.name} on {case.body.name} at {case.shape.label}: {seen.faults.severity}")
    if case.place is not None:
        console.print(place_words(case.place))
    console.print(f"wrote {output}")
    return EXIT_CLEAN


def _see(
    body: Body, garment: Path, weights: Weights, following: Following, how: ReadingOptions, repaired: bool
) -> Seen:
    """Fit a garment as its following says, repair it where asked, and measure it at a shape."""
    (asked,) = read_garments([garment], how, worn_by=body, saved={stem_of(garment): following})
    made = fit(body, asked.file.garment, asked.following)
    return see(repair(made).fit if repaired else made, weights)


def _base_body(path: Path, how: ReadingOptions, name: str) -> BodyFile:
    """The base body of a case; where a file holds only one, that one.

    Raises:
        ArgumentError: the file holds several, and none of that name.
    """
    known = read_bodies(path, how)
    for one in known:
        if one.body.name == name:
            return one
    if len(known) > 1:
        names = ", ".join(one.body.name for one in known)
        raise ArgumentError.of("case replay", "base", f"one of {names}", repr(name), "Choose one with --base")
    return known[0]


def _case_of(seen: Seen, *, note: str, fault: str | None, repaired: bool) -> Case:
    """What is seen, as a case about its gravest place (of one fault, where one is named)."""
    places = [place for place in seen.faults.places if fault in {None, place.fault}]
    camera = view_of(seen, None) if not places else look_at(places[0], seen.body, seen.fit, seen.fields, radius=0.25)
    place = places[0] if places else None
    picture = picture_of(
        seen, camera, look_of(garment_file_of(seen.fit.garment)), fault=place.fault if place else "", ring=place
    )
    body, named = seen.body, zip(seen.body.morph_names, seen.weights)
    garment = _source(seen.fit.garment.name, garment_file_of(seen.fit.garment).path)
    return Case(
        garment=CaseGarment.of(garment, seen.fit.following, repaired=repaired),
        body=_source(body.name, body_file_of(body).path),
        shape=CaseShape(label_of(body.range, seen.weights), {name: float(weight) for name, weight in named if weight}),
        made=now(),
        versions=dict(versions()),
        view=_case_view(camera),
        place=place,
        faults=case_faults(seen.faults),
        note=note,
        picture=picture_text(png_bytes(picture)),
    )


def _source(name: str, path: Path) -> CaseFile:
    return CaseFile(name, path_text(path), sha256_of(path))


def _case_view(camera: Camera) -> CaseView:
    def point(values: Float[np.ndarray, "3"]) -> tuple[float, float, float]:
        return float(values[0]), float(values[1]), float(values[2])

    return CaseView(point(camera.eye), point(camera.target), height_m=float(camera.height))
