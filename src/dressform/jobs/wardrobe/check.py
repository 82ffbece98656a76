"""Checking a wardrobe: every garment by itself, in many processes, what is finished taken from the store."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings, shapes_of
from dressform.body.stance import Stance
from dressform.calls import called
from dressform.faults.severity import Bands
from dressform.formats.frames.plausible import refuse_still
from dressform.formats.frames.units import AxisOptions
from dressform.formats.load import BodyFile, others_reader
from dressform.formats.results.check_schema import StoredGarment
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.garment_line import GarmentLine
from dressform.garment.following import Following
from dressform.jobs.progress import Progress
from dressform.jobs.store.finished import FinishedStore
from dressform.jobs.wardrobe.check_work import LINES, CheckWork, garments_of
from dressform.jobs.wardrobe.files import WardrobeFile
from dressform.jobs.wardrobe.run import WardrobeAsked, WardrobeRun, run_wardrobe
from dressform.sweep.engine import Engine
from dressform.sweep.store import content_hash

DETECTED = AxisOptions()
"""Units and axes are as the files have them."""
CHECKED = "check"
"""Word for checks in the store."""


@dataclass(frozen=True, eq=False)
class WardrobeChecked:
    """What a check of a wardrobe found; all but the short lines stays in the store.

    Attributes:
        body: The body.
        work: What was done with each garment.
        followings: How each garment follows, by name.
        run: What became of each garment.
        lines: What lists tell, the worst first.
        store: The store that has the rest; open.
    """

    body: Body
    work: CheckWork
    followings: Mapping[str, Following]
    run: WardrobeRun
    lines: tuple[GarmentLine, ...]
    store: FinishedStore

    @property
    def failed(self) -> tuple[FailedGarment, ...]:
        """Garments, or ways for one to follow, of which nothing is known."""
        return tuple(self.run.failed)

    def file_of(self, name: str) -> str:
        """File of a garment, as it was asked for."""
        return self.run.files[name]

    def garments(self) -> Iterator[StoredGarment]:
        """All that was found, the worst first, one garment at a time."""
        for line in self.lines:
            kept = self.store.get(self.run.keys[line.name])
            if kept is not None:
                found = garments_of(kept.data, file=self.file_of(line.name))
                yield from (one for one in found if one.method == line.method)


@called("check_wardrobe", apart=("engine", "store", "following"))
def check_wardrobe(
    body: Body,
    files: Sequence[WardrobeFile],
    *,
    following: Callable[[WardrobeFile], Following],
    methods: Sequence[str] = (),
    shapes: ShapeSettings,
    stances: Sequence[Stance] = (),
    bands: Bands,
    causes: bool = True,
    told: AxisOptions = DETECTED,
    engine: Engine,
    store: FinishedStore,
    progress: Progress | None = None,
) -> WardrobeChecked:
    """Check every garment of a wardrobe by itself: what a check of that file alone would find, byte for byte.

    Args:
        body: The body.
        files: The garments.
        following: How a garment is to follow; parts that it does not have are passed over.
        methods: Methods to compare; each garment's own where there are none.
        shapes, stances, bands, causes: As for `check`.
        told: Units and axes of the garments, as far as they were told.
        engine: Where it is done.
        store: Where it is kept.
        progress: Told of every garment.

    Raises:
        FileError: the body has no morphs, or the store cannot be used.

    Proof: tests/jobs/wardrobe/test_run.py
    """
    refuse_still(body)
    others = others_reader(body.source)() if causes and isinstance(body.source, BodyFile) else ()
    bare = replace(body, source=None)
    work = CheckWork(
        bare, tuple(replace(one, source=None) for one in others), tuple(methods), shapes, tuple(stances), bands, causes,
        told.units, told.up,
    )  # fmt: skip
    followings: dict[str, Following] = {}

    def asked_following(file: WardrobeFile) -> Following:
        followings[file.name] = following(file)
        return followings[file.name]

    asked = WardrobeAsked(
        CHECKED,
        work,
        _common(work),
        asked_following,
        body.name,
        len(shapes_of(bare, settings=shapes)) * (1 + len(stances)),
    )
    run = run_wardrobe(files, asked, engine=engine, store=store, progress=progress)
    followings = {name: followings[name] for name in run.files if name in followings}
    return WardrobeChecked(body, work, followings, run, _lines(run, store), store)


def _common(work: CheckWork) -> bytes:
    """What the results of every garment depend on."""
    stances = [(one.name, one.pose, one.worlds, one.sliders, one.still) for one in work.stances]
    return content_hash(
        work.body, work.others, work.methods, work.shapes, stances, work.bands, work.causes, work.units, work.up
    )


def _lines(run: WardrobeRun, store: FinishedStore) -> tuple[GarmentLine, ...]:
    lines: list[GarmentLine] = []
    for key in run.keys.values():
        kept = store.get(key)
        lines += () if kept is None else LINES.decode(kept.line)
    return tuple(sorted(lines, key=lambda one: one.badness, reverse=True))
