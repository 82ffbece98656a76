"""Opens the page of `dressform show` and serves it until it ends."""

from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.body.stances.found import FoundStances
from dressform.cli.arguments import FollowingOptions, ReadingOptions
from dressform.cli.commands.show_command import Keeping
from dressform.cli.console import out, print_notes
from dressform.cli.opening import open_privately
from dressform.cli.reading import Asked, read_bodies, read_body, read_garments
from dressform.cli.settings import NOTHING_SAVED, methods_asked, read_settings
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.bands_file import read_bands
from dressform.formats.frames.plausible import refuse_still
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.load import body_file_of, garment_file_of
from dressform.formats.out_folder import refuse_unwritable
from dressform.formats.results.failed import FailedGarment
from dressform.garment.strength import follow_as
from dressform.jobs.check_report import garment_source, read_options, settings_report, told_axes
from dressform.jobs.provenance import source_of, versions
from dressform.jobs.stances import find_stances
from dressform.report.pictures.looks import look_of
from dressform.web.guard import Guard
from dressform.web.hub import Hub
from dressform.web.server import open_port, serve
from dressform.web.session import Opened, Session


def run_show(
    garments: list[Path],
    body: Path,
    method: list[str] | None,
    *,
    stances: str | None,
    repaired: bool,
    bands: Path | None,
    shapes: int,
    check: bool,
    port: int,
    browser: bool,
    keeping: Keeping,
    following: FollowingOptions | None,
    reading: ReadingOptions | None,
) -> bool:
    """Read the files and serve the page. Arguments are the options of the command.

    Returns:
        Whether every garment could be read.
    """
    methods, keep = methods_asked("show", method), keeping
    for target, is_folder in ((keep.settings, False), (keep.out, True), (keep.cases, True)):
        if target is not None:
            refuse_unwritable(target, is_folder=is_folder)
    with closing(open_port(port)) as listening:  # a port that is taken is said before the files are read
        judged = read_bands(bands) if bands else DEFAULT_BANDS
        looked = ShapeSettings(sobol=shapes)
        files = _read(body, garments, reading, following, keep.settings)
        stood = [find_stances(one, stances) for one in files.bodies]
        opened = Opened(
            bodies=tuple(body_file_of(one) for one in files.bodies),
            base=files.base,
            garments=tuple(garment_file_of(one.garment) for one in files.garments),
            sources={"": source_of(body), **{one.name: garment_source(one.garment) for one in files.garments}},
            failed=files.failed,
            following={one.name: one.following for one in files.garments},
            methods=methods,
            repaired=repaired,
            looks={
                one.name: look_of(garment_file_of(one.garment), number=number)
                for number, one in enumerate(files.garments)
            },
            bands=judged,
            shapes=looked,
            animations=tuple(read_animations(body_file_of(one)) for one in files.bodies),
            stances=tuple(one.stances for one in stood),
            versions=versions(),
            settings=settings_report(
                {one.name: one.following for one in files.garments},
                methods=methods,
                shapes=looked,
                bands=judged,
                workers=1,
                causes=check,
                options=read_options(files.bodies[files.base]),
                told=told_axes(one.garment for one in files.garments),
            ),
            settings_file=keep.settings,
            out=keep.out,
            cases=keep.cases,
        )
        hub = Hub(Session(opened))
        if check:
            hub.start_check()
        guard = Guard.make(listening.getsockname()[1])
        serve(hub, guard, listening, on_ready=lambda: _ready(guard.address, files, stood[files.base], browser=browser))
    return not files.failed


@dataclass(frozen=True)
class _Files:
    """What was read: every base body, which of them is first, the garments with how each follows, and broken ones."""

    bodies: tuple[Body, ...]
    base: int
    garments: tuple[Asked, ...]
    failed: tuple[FailedGarment, ...]


def _read(
    body: Path,
    garments: list[Path],
    how: ReadingOptions | None,
    options: FollowingOptions | None,
    settings: Path | None,
) -> _Files:
    """Read the files; what does not fit together is refused before a page is opened."""
    first = read_body(body, how)
    refuse_still(first)
    bodies = read_bodies(body, how) if how is None or how.base is None else (first,)
    saved = read_settings(settings, garments) if settings is not None and settings.exists() else NOTHING_SAVED
    asked = read_garments(garments, how, options, worn_by=first, saved=saved, as_filed=True)
    for one in asked.sound:
        follow_as(one.garment, one.following)
    return _Files(bodies, [one.name for one in bodies].index(first.name), asked.sound, asked.failed)


def _ready(address: str, files: _Files, stood: FoundStances, *, browser: bool) -> None:
    """Say where the page is, and open it."""
    console = out()
    console.print(address, soft_wrap=True)
    console.print("The page is open to whoever has this address. Ctrl-C ends it.")
    print_notes(console, *files.bodies, *(one.garment for one in files.garments))
    for note in stood.notes:
        console.print(f"note: stances: {note}")
    for broken in files.failed:
        console.print(broken.sentence)
    if browser:
        open_privately(address)
