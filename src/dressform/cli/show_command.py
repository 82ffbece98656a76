"""`dressform show`: a local page on which sliders are turned and clothes follow."""

import threading
import webbrowser
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import METHOD_WORDS, BodyOption, Following, Reading, strengths
from dressform.cli.bands import read_bands
from dressform.cli.console import out
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.gathering import settings_report, source_of, versions
from dressform.cli.looks import look_of
from dressform.cli.reading import read_bodies, read_body, read_garments
from dressform.cli.settings import read_settings, settled
from dressform.errors import ArgumentError
from dressform.faults.check import DEFAULT_BANDS
from dressform.formats.following_file import FollowingSettings
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.out_folder import refuse_unwritable
from dressform.lift.lift import DEFAULT_METHOD, METHODS
from dressform.web.following import Following as Follows
from dressform.web.guard import Guard
from dressform.web.hall import Hall
from dressform.web.server import open_port, serve
from dressform.web.session import CHECKED_SHAPES, Opened, Session

ANY_PORT = 0


@Parameter(name="*")
@dataclass(frozen=True)
class Keeping:
    """Where the page may write."""

    settings: Annotated[
        Path | None, Parameter(help="TOML with how garments follow: read where it exists, written when the page saves.")
    ] = None
    out: Annotated[Path | None, Parameter(help="Folder for what the page exports.")] = None
    cases: Annotated[Path | None, Parameter(help="Folder for the cases that the page saves.")] = None


def show(
    garments: Annotated[list[Path], Parameter(help="Garment files: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    body: BodyOption,
    lift: Annotated[
        list[str] | None,
        Parameter(
            help=f"Method: {METHOD_WORDS}; repeat it, or say all, to compare ways. [default: smooth]", negative=""
        ),
    ] = None,
    repaired: Annotated[bool, Parameter(help="Show every garment repaired over the whole range, too.")] = False,
    bands: Annotated[
        Path | None, Parameter(help="TOML with the values from which a fault is slight, moderate, grave.")
    ] = None,
    shapes: Annotated[int, Parameter(help="Size of the Sobol sample of the check in the background.")] = (
        CHECKED_SHAPES.sobol
    ),
    check: Annotated[bool, Parameter(help="Check every garment over the range in the background.")] = True,
    port: Annotated[int, Parameter(help="Port to listen on; any free one where left out.")] = ANY_PORT,
    browser: Annotated[bool, Parameter(help="Open the page in the browser.")] = True,
    keeping: Keeping | None = None,
    following: Following | None = None,
    reading: Reading | None = None,
) -> int:
    """Open a local page on which a person turns any slider and watches the clothes follow."""
    how, follow, keep = reading or Reading(), following or Following(), keeping or Keeping()
    for target, is_folder in ((keep.settings, False), (keep.out, True), (keep.cases, True)):
        if target is not None:
            refuse_unwritable(target, is_folder=is_folder)
    with closing(open_port(port)) as listening:  # a port that is taken is said before the files are read
        judged = read_bands(bands) if bands else DEFAULT_BANDS
        looked = ShapeSettings(sobol=shapes)
        files = _read(body, garments, how, follow, keep.settings)
        opened = Opened(
            bodies=files.bodies,
            base=files.base,
            garments=files.garments,
            sources={"": source_of(body), **{one.garment.name: source_of(one.path) for one in files.garments}},
            following=files.following,
            methods=_methods(lift),
            repaired=repaired,
            looks={one.garment.name: look_of(one, number=number) for number, one in enumerate(files.garments)},
            bands=judged,
            shapes=looked,
            animations=tuple(read_animations(one) for one in files.bodies),
            versions=versions(),
            settings=settings_report(
                methods=_methods(lift),
                reading=how,
                following=follow,
                settings=looked,
                workers=1,
                bands=judged,
                margin=None,
            ),
            settings_file=keep.settings,
            out=keep.out,
            cases=keep.cases,
        )
        hall = Hall(Session(opened))
        if check:
            hall.start_check()
        guard = Guard.make(listening.getsockname()[1])
        serve(hall, guard, listening, on_ready=lambda: _ready(guard.address, files.bodies, browser=browser))
    return EXIT_CLEAN


@dataclass(frozen=True)
class _Files:
    """What was read: every base body, which of them is first, the garments, and how each follows."""

    bodies: tuple[BodyFile, ...]
    base: int
    garments: tuple[GarmentFile, ...]
    following: dict[str, Follows]


def _methods(lift: list[str] | None) -> tuple[str, ...]:
    """Methods that are asked for, each once."""
    methods = METHODS if lift == ["all"] else tuple(dict.fromkeys(lift or [DEFAULT_METHOD]))
    for method in methods:
        if method not in METHODS:
            raise ArgumentError.of("show", "lift", f"one of {METHOD_WORDS}", repr(method), "Use one of these")
    return methods


def _read(body: Path, garments: list[Path], how: Reading, follow: Following, settings: Path | None) -> _Files:
    """Read the files: garments as their files have them, following as options and the settings file say."""
    first = read_body(body, how)
    bodies = read_bodies(body, how) if how.base is None else (first,)
    saved = read_settings(settings, garments) if settings is not None and settings.exists() else {}
    said = {path.stem: settled(follow, saved, path.stem) for path in garments}
    masks = {name: FollowingSettings(mask=one.mask) for name, one in said.items()}
    files = read_garments(garments, how, Following(), worn_by=first.body, saved=masks)
    known = {part for one in files for part in one.garment.part_names}
    for part in strengths(follow)[1]:
        if part not in known:
            rule = f"parts of the garments: {', '.join(sorted(known))}"
            raise ArgumentError.of("show", "strength", rule, repr(part), "Use one of these")
    found = {}
    for one in files:
        garment, mine = one.garment, said[one.garment.name]
        parts = {name: value for name, value in mine.parts.items() if name in garment.part_names}
        found[garment.name] = Follows.of(replace(mine, parts=parts), Follows())
        found[garment.name].apply(garment)  # refuses what does not fit it before a page is opened
    return _Files(bodies, [one.body.name for one in bodies].index(first.body.name), tuple(files), found)


def _ready(address: str, bodies: tuple[BodyFile, ...], *, browser: bool) -> None:
    """Say where the page is, and open it."""
    console = out()
    for body in bodies:
        for note in body.body.notes:
            console.print(f"note: {note}")
    console.print(address, soft_wrap=True)
    console.print("The page is open to whoever has this address. Ctrl-C ends it.")
    if browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
