"""Fitting a wardrobe: every garment repaired, proven and written into a folder, its receipt beside it."""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.calls import called
from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.frames.plausible import refuse_still
from dressform.formats.frames.units import AxisOptions
from dressform.formats.gltf.morphs.target_style import DEFAULT_STYLE, TargetStyle
from dressform.formats.guards.inputs import ELSEWHERE, identity_of
from dressform.formats.load import body_file_of
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.receipt_read import receipt_beside
from dressform.garment.following import Following
from dressform.jobs.progress import Progress
from dressform.jobs.prove import NO_CLIPS
from dressform.jobs.store.finished import FinishedStore, KeptWork
from dressform.jobs.wardrobe.check import DETECTED
from dressform.jobs.wardrobe.files import WardrobeFile
from dressform.jobs.wardrobe.fit_work import (
    FITTED_FILES,
    FITTED_LINE,
    FittedLine,
    FitWork,
    body_contents,
    kept_receipt,
)
from dressform.jobs.wardrobe.run import WardrobeAsked, WardrobeRun, run_wardrobe
from dressform.jobs.wardrobe.task import GarmentTask
from dressform.repair.names import REPAIRS
from dressform.sweep.engine import Engine
from dressform.sweep.store import content_hash

FITTED = "fit"
"""Word for fits in the store."""


@dataclass(frozen=True)
class WardrobeFitted:
    """What became of a wardrobe that was fitted.

    Attributes:
        body: Name of the body.
        run: What became of each garment.
        lines: Each garment in short, those that are still faulty first.
    """

    body: str
    run: WardrobeRun
    lines: tuple[FittedLine, ...]

    @property
    def failed(self) -> tuple[FailedGarment, ...]:
        """Garments that were not written."""
        return tuple(self.run.failed)


@called("fit_wardrobe", apart=("engine", "store", "following"))
def fit_wardrobe(
    body: Body,
    files: Sequence[WardrobeFile],
    out: Path,
    *,
    following: Callable[[WardrobeFile], Following],
    repairs: Sequence[str] = REPAIRS,
    keep_base: bool = False,
    stances: Sequence[Stance] = (),
    correctives: bool = True,
    clips: str = NO_CLIPS,
    style: TargetStyle = DEFAULT_STYLE,
    compress: bool = False,
    told: AxisOptions = DETECTED,
    engine: Engine,
    store: FinishedStore,
    progress: Progress | None = None,
) -> WardrobeFitted:
    """Fit, repair and prove every garment of a wardrobe, and write each with its receipt.

    The store keeps the receipts and the hashes of the files. A garment whose file still lies in the folder as it was
    written is not done again.

    Args:
        body: The body, read from a file.
        files: The garments.
        out: The folder; a garment is written there under its name.
        following: How a garment is to follow; parts that it does not have are passed over.
        repairs, keep_base, stances, correctives, clips: As for `repair`.
        style: As for `save`. Where it asks for a basis, what is proven is proven of what the file makes of that.
        compress: Whether each file is rounded and compressed; what is proven is then proven of that file.
        told: Units and axes of the garments, as far as they were told.
        engine: Where it is done.
        store: Where it is kept.
        progress: Told of every garment.

    Raises:
        ArgumentError: the body was made in memory.
        FileError: the body has no morphs, the store cannot be used, or a garment would be written over an input.

    Proof: tests/jobs/wardrobe/test_fit.py
    """
    refuse_still(body)
    source = body_file_of(body)
    told_body = str(source.path)
    there = replace(body, source=replace(source, path=source.path.resolve()))
    work = FitWork(
        there, {} if engine.is_local else body_contents(body), told_body, str(out), tuple(repairs), keep_base,
        tuple(stances), correctives, clips, style, compress, told.units, told.up,
    )  # fmt: skip
    _refuse_inputs(work, files, source.path)

    def arrived(task: GarmentTask, data: bytes) -> bytes:
        found, target = FITTED_FILES.decode(data), work.target(task.garment)
        target.parent.mkdir(parents=True, exist_ok=True)
        receipt_beside(target).unlink(missing_ok=True)  # an old one must never stand beside another garment
        write_bytes(target, found.glb)
        write_bytes(receipt_beside(target), found.receipt)
        return kept_receipt(found.receipt)

    def stands(file: WardrobeFile, kept: KeptWork) -> bool:
        target = work.target(file.name)
        receipt = receipt_beside(target)
        if not (target.is_file() and receipt.is_file()):
            return False
        is_same = hashlib.sha256(target.read_bytes()).hexdigest() == FITTED_LINE.decode(kept.line).sha256
        return is_same and kept_receipt(receipt.read_bytes()) == kept.data

    asked = WardrobeAsked(FITTED, work, _common(work, body), following, body.name, 0, arrived, stands)
    run = run_wardrobe(files, asked, engine=engine, store=store, progress=progress)
    kept = [store.get(key) for key in run.keys.values()]
    lines = [FITTED_LINE.decode(one.line) for one in kept if one is not None]
    return WardrobeFitted(body.name, run, tuple(sorted(lines, key=lambda one: not one.faulty)))


def _refuse_inputs(work: FitWork, files: Sequence[WardrobeFile], body: Path) -> None:
    read = {identity_of(path): path for path in (body, *(file.path for file in files))}
    for file in files:
        target = work.target(file.name)
        found = identity_of(target)
        if found is not None and found in read:
            raise FileError.of(target, "", f"is an input ({read[found]})", ELSEWHERE)


def _common(work: FitWork, body: Body) -> bytes:
    """What every fit depends on; the receipt names files and folder, so these count too."""
    stances = [(one.name, one.pose, one.worlds, one.sliders, one.still) for one in work.stances]
    return content_hash(
        body, contents_hash(body), work.told, work.out, work.repairs, work.keep_base, stances, work.correctives,
        work.clips, work.style, work.compress, work.units, work.up,
    )  # fmt: skip


def contents_hash(body: Body) -> bytes:
    """Hash of the body's files: joints and animations come from there."""
    return content_hash(body_contents(body))
