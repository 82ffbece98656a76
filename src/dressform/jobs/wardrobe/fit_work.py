"""Fitting one garment of a wardrobe in any process: repaired and proven, file and receipt come back as bytes."""

import gc
import hashlib
import json
import re
import time
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import msgspec

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.errors import DressformError
from dressform.faults.body_context import BodyContext
from dressform.fit.fit import Fit
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.load import BodyFile
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.formats.results.failed import FailedGarment, FailedStage
from dressform.formats.results.receipt_read import receipt_beside
from dressform.formats.results.record import Record
from dressform.garment.following import NO_JOINTS, for_garment
from dressform.jobs.fit import fit
from dressform.jobs.load import load_garment
from dressform.jobs.repair import Repaired, repair
from dressform.jobs.save import Small, made_small, save_with_receipt
from dressform.jobs.wardrobe.files import contents_of, written_out
from dressform.jobs.wardrobe.memory import peak_mb
from dressform.jobs.wardrobe.task import GarmentDone, GarmentTask
from dressform.leftovers import PLAIN, owned
from dressform.report.tables.proof import proof_line
from dressform.units import MM_PER_M


class FittedLine(Record, frozen=True):
    """One fitted garment in short.

    Attributes:
        name: Name of the garment.
        method: Method.
        faulty: Whether skin or cloth in the body is still seen, moderate or worse.
        stances: Stances at which it is.
        proof: What is proven, in one sentence.
        sha256: Of the file that was written.
        notes: What should be said aloud.
        size: Bytes of that file.
        error_mm: How far a vertex of it is off at most at any shape of the range, where it was made small or written as
            a basis, mm.
    """

    name: str
    method: str
    faulty: bool
    stances: tuple[str, ...]
    proof: str
    sha256: str
    notes: tuple[str, ...] = ()
    size: int = 0
    error_mm: float | None = None


_TIME = re.compile(rb'"seconds": [0-9.e+-]+')
FITTED_LINE = msgspec.json.Decoder(FittedLine)


class FittedFiles(Record, frozen=True):
    """The files of a fitted garment.

    Attributes:
        glb: The garment.
        receipt: Its receipt.
    """

    glb: bytes
    receipt: bytes


FITTED_FILES = msgspec.msgpack.Decoder(FittedFiles)


@dataclass(frozen=True, eq=False)
class FitWork:
    """What every process needs to fit garments of a wardrobe.

    Attributes:
        body: The body, with its file.
        contents: The body's files, where a process may not see them; see `contents_of`.
        told: The body's file, as it was asked for.
        out: Folder that the files are meant for.
        repairs: Names of the repairs.
        keep_base: Whether every vertex of the base stays where it is.
        stances: Stances to repair and prove beside rest.
        correctives: Whether strong bends get targets that joints drive.
        clips: Animations to prove at every instant.
        style: How targets are written.
        compress: Whether the files are rounded and compressed; what is proven is then proven of these.
        units: Unit of the garments' files, where it was told.
        up: Their axis up, where it was told.
    """

    body: Body
    contents: Mapping[str, bytes]
    told: str
    out: str
    repairs: tuple[str, ...]
    keep_base: bool
    stances: tuple[Stance, ...]
    correctives: bool
    clips: str
    style: TargetStyle
    compress: bool = False
    units: str | None = None
    up: str | None = None

    def __getstate__(self) -> dict[str, object]:
        """The state to pickle: with the body's file, which a body alone leaves behind and writing a garment needs."""
        return {**self.__dict__, "source": self.body.source}

    def __setstate__(self, state: dict[str, Any]) -> None:
        source = state.pop("source")
        self.__dict__.update(state | {"body": replace(state["body"], source=source)})

    def begin(self) -> Callable[[GarmentTask], Iterator[GarmentDone]]:
        """What fits garments in this process."""
        return _FitBench(self).run

    def target(self, garment: str) -> Path:
        """The file that a garment is written to."""
        return Path(self.out, f"{garment}.glb")


class _FitBench:
    """A process at work: the body is prepared once, garments come and go."""

    def __init__(self, work: FitWork) -> None:
        self._work = work
        self._tree = BodyContext(work.body).tree

    def run(self, task: GarmentTask) -> Iterator[GarmentDone]:
        """What became of a garment; whatever is wrong with it is told."""
        start, hidden, stage = time.perf_counter(), dict[str, str](), list[FailedStage](["read"])
        try:
            line, data = self._done(task, hidden, stage)
        except (DressformError, MemoryError) as error:
            yield _ended(task, str(error) or "memory ran out", hidden, stage[-1], start)
        except Exception as error:  # a fault of the program, which must not cost the other garments
            reason = f"a fault of the program, not of the file ({type(error).__name__}: {error})"
            yield _ended(task, reason, hidden, stage[-1], start)
        else:
            yield GarmentDone(task, line, data, (), time.perf_counter() - start, peak_mb())
        finally:
            gc.collect()  # what holds each other in a circle; it would grow from garment to garment

    def _done(self, task: GarmentTask, hidden: dict[str, str], stage: list[FailedStage]) -> tuple[bytes, bytes]:
        work = self._work
        with task.opened() as path, self._seen() as body, TemporaryDirectory(prefix=owned(PLAIN)) as folder:
            hidden |= {str(path): task.told}
            if isinstance(body.source, BodyFile):
                hidden |= {str(body.source.path): work.told}
            mask = task.following.mask if isinstance(task.following.mask, str) else STRENGTH_ATTRIBUTE
            read = load_garment(path, beside=body, mask=mask, units=work.units, up=work.up)
            garment = replace(read, name=task.garment)
            stage.append("fitted")
            fitted = fit(body, garment, for_garment(task.following, garment), tree=self._tree)
            stances = () if task.following.joint_weights == NO_JOINTS else work.stances
            repaired = repair(
                fitted, repairs=work.repairs, keep_base=work.keep_base, stances=stances,
                correctives=work.correctives, clips=work.clips, tree=self._tree,
            )  # fmt: skip
            small = self._made_small(repaired.fit)
            repaired = repaired if small is None else replace(repaired, fit=small.fit)
            target, named = Path(folder, "fitted.glb"), work.target(task.garment)
            _, notes = save_with_receipt(repaired, target, named=named, style=work.style, small=small)
            files = FittedFiles(glb=target.read_bytes(), receipt=_told(receipt_beside(target).read_bytes(), hidden))
            line = _line(task, repaired, files, notes, small)
        return msgspec.json.encode(line), msgspec.msgpack.encode(files)

    def _made_small(self, fit: Fit) -> Small | None:
        """The file made small, or written as a basis, where that was asked for."""
        style, compress = self._work.style, self._work.compress
        return made_small(fit, style=style, compress=compress) if compress or style.basis is not None else None

    def _seen(self) -> "_Seen":
        return _Seen(self._work)


class _Seen:
    """The body with a file that this process sees, while the context lasts."""

    def __init__(self, work: FitWork) -> None:
        self._work = work

    def __enter__(self) -> Body:
        work, source = self._work, self._work.body.source
        if not work.contents or not isinstance(source, BodyFile):
            self._files = None
            return work.body
        self._files = written_out(source.path.name, work.contents)
        return replace(work.body, source=replace(source, path=self._files.__enter__()))

    def __exit__(self, *error: object) -> None:
        if self._files is not None:
            self._files.__exit__(None, None, None)


def _line(
    task: GarmentTask, repaired: Repaired, files: FittedFiles, notes: tuple[str, ...], small: Small | None
) -> FittedLine:
    return FittedLine(
        name=task.garment,
        method=repaired.fit.following.method,
        faulty=repaired.faulty,
        stances=repaired.faulty_stances,
        proof=proof_line(repaired.proof),
        sha256=hashlib.sha256(files.glb).hexdigest(),
        notes=notes,
        size=len(files.glb),
        error_mm=None if small is None else small.error * MM_PER_M,
    )


def _told(receipt: bytes, hidden: Mapping[str, str]) -> bytes:
    """A receipt that names files as they were asked for, wherever this process found them, and tells no times.

    So equal work gives equal bytes.
    """
    for path, told in hidden.items():
        receipt = receipt.replace(_quoted(path), _quoted(told))
    return _TIME.sub(b'"seconds": 0.0', receipt)


def _quoted(path: str) -> bytes:
    return json.dumps(path, ensure_ascii=False).encode()


def _ended(task: GarmentTask, reason: str, hidden: Mapping[str, str], stage: FailedStage, start: float) -> GarmentDone:
    for path, told in hidden.items():
        reason = reason.replace(path, told)
    failed = FailedGarment(name=task.garment, file=task.told, stage=stage, reason=reason)
    return GarmentDone(task, b"", b"", (failed,), time.perf_counter() - start, peak_mb())


def kept_receipt(receipt: bytes) -> bytes:
    """What the store keeps of the files: the receipt. The garment itself lies in its folder."""
    return zlib.compress(receipt)


def body_contents(body: Body) -> dict[str, bytes]:
    """The files of a body, for processes that do not see them."""
    return contents_of(body.source.path) if isinstance(body.source, BodyFile) else {}
