"""`dressform show`: a local page on which sliders are turned and clothes follow."""

import threading
import webbrowser
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.body.shapes import ShapeSettings
from dressform.cli.arguments import BodyOption, FollowingOptions, MethodsOption, ReadingOptions
from dressform.cli.console import out
from dressform.cli.exits import EXIT_CLEAN
from dressform.cli.outputs import TOML, WritingOptions, check_outputs
from dressform.cli.reading import Asked, read_bodies, read_body, read_garments
from dressform.cli.settings import NOTHING_SAVED, methods_asked, read_settings
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.bands_file import read_bands
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.load import BodyFile
from dressform.garment.strength import follow_as
from dressform.jobs.check_report import read_options, settings_report
from dressform.jobs.provenance import source_of, versions
from dressform.report.pictures.looks import look_of
from dressform.web.guard import Guard
from dressform.web.hub import Hub
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
    method: MethodsOption = None,
    repaired: Annotated[bool, Parameter(help="Show every garment repaired over the whole range, too.")] = False,
    bands: Annotated[
        Path | None, Parameter(help="TOML with the values from which a fault is slight, moderate, grave.")
    ] = None,
    shapes: Annotated[int, Parameter(help="Evenly spread shapes that the check in the background adds.")] = (
        CHECKED_SHAPES.sobol
    ),
    check: Annotated[bool, Parameter(help="Check every garment over the range in the background.")] = True,
    port: Annotated[int, Parameter(help="Port to listen on; any free one if omitted.")] = ANY_PORT,
    browser: Annotated[bool, Parameter(help="Open the page in the browser.")] = True,
    keeping: Keeping | None = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Open a local page on which a person turns any slider and watches the clothes follow."""
    methods, how, keep = methods_asked("show", method), reading or ReadingOptions(), keeping or Keeping()
    written, folders = [(keep.settings, TOML)], [keep.out, keep.cases]
    check_outputs([body, *garments, bands], written, folders, reading=reading, writing=writing)
    with closing(open_port(port)) as listening:  # a port that is taken is said before the files are read
        judged = read_bands(bands) if bands else DEFAULT_BANDS
        looked = ShapeSettings(sobol=shapes)
        files = _read(body, garments, how, following, keep.settings)
        opened = Opened(
            bodies=files.bodies,
            base=files.base,
            garments=tuple(one.file for one in files.garments),
            sources={"": source_of(body), **{one.name: source_of(one.file.path) for one in files.garments}},
            following={one.name: one.following for one in files.garments},
            methods=methods,
            repaired=repaired,
            looks={one.name: look_of(one.file, number=number) for number, one in enumerate(files.garments)},
            bands=judged,
            shapes=looked,
            animations=tuple(read_animations(one) for one in files.bodies),
            versions=versions(),
            settings=settings_report(
                {one.name: one.following for one in files.garments},
                methods=methods,
                shapes=looked,
                bands=judged,
                workers=1,
                causes=check,
                options=read_options(files.bodies[files.base].body),
            ),
            settings_file=keep.settings,
            out=keep.out,
            cases=keep.cases,
        )
        hub = Hub(Session(opened))
        if check:
            hub.start_check()
        guard = Guard.make(listening.getsockname()[1])
        serve(hub, guard, listening, on_ready=lambda: _ready(guard.address, files.bodies, browser=browser))
    return EXIT_CLEAN


@dataclass(frozen=True)
class _Files:
    """What was read: every base body, which of them is first, and the garments with how each follows."""

    bodies: tuple[BodyFile, ...]
    base: int
    garments: tuple[Asked, ...]


def _read(
    body: Path, garments: list[Path], how: ReadingOptions, options: FollowingOptions | None, settings: Path | None
) -> _Files:
    """Read the files; what does not fit together is refused before a page is opened."""
    first = read_body(body, how)
    bodies = read_bodies(body, how) if how.base is None else (first,)
    saved = read_settings(settings, garments) if settings is not None and settings.exists() else NOTHING_SAVED
    asked = read_garments(garments, how, options, worn_by=first.body, saved=saved)
    for one in asked:
        follow_as(one.file.garment, one.following)
    return _Files(bodies, [one.body.name for one in bodies].index(first.body.name), tuple(asked))


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
