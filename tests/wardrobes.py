"""A small wardrobe on disk: tubes round the phantom, one that does not follow, one that is broken."""

import os
import pickle
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.gltf.save import save_body, save_garment
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.jobs.load import load_body
from dressform.jobs.store.finished import FinishedStore
from dressform.jobs.wardrobe.check import WardrobeChecked, check_wardrobe
from dressform.jobs.wardrobe.check_work import CheckWork
from dressform.jobs.wardrobe.files import wardrobe_files
from dressform.jobs.wardrobe.task import GarmentTask
from dressform.sweep.crew import Processes
from dressform.sweep.engine import Engine, EngineTask, Follow
from dressform.sweep.staff import Job
from phantoms import phantom_body, phantom_tube

FEW = ShapeSettings(sobol=1, strongest=0)


class MortalWork(CheckWork):
    """A job at which the first process that takes `t0` is killed, once or always."""

    def begin(self) -> Callable[[GarmentTask], Iterator[object]]:  # type: ignore[override]
        run, mark = super().begin(), Path(os.environ["MORTAL_MARK"])

        def mortal(task: GarmentTask) -> Iterator[object]:
            if task.garment == "t0" and (not mark.exists() or mark.read_text() == "always"):
                if not mark.exists():
                    mark.write_text("once")
                os.kill(os.getpid(), signal.SIGKILL)
            yield from run(task)

        return mortal


class HereAsElsewhere:
    """Works in this process as if it were on a machine that does not see the files."""

    is_local = False
    workers = 1

    def run(self, job: Job, tasks: Iterable[EngineTask], follow: Follow) -> Iterator[object]:
        return Processes(1).run(pickle.loads(pickle.dumps(job)), (self._sent(task) for task in tasks), follow)

    def _sent(self, task: EngineTask) -> EngineTask:
        sent = pickle.loads(pickle.dumps(task))
        assert sent.contents
        return replace(sent, path=f"/nowhere/{Path(sent.path).name}")


def small_wardrobe(folder: Path, *, count: int = 2) -> Path:
    """Writes body.glb and a folder `wardrobe` of `count` sound tubes, `tight.glb` and `bad.glb`; the folder."""
    save_body([phantom_body(rings=24, sides=24)], folder / "body.glb")
    wardrobe = folder / "wardrobe"
    wardrobe.mkdir()
    for number in range(count):
        save_garment(phantom_tube(clearance=0.02 + 0.002 * number, rings=12, sides=20), wardrobe / f"t{number}.glb")
    tight = phantom_tube(clearance=0.012, rings=12, sides=20)
    save_garment(replace(tight, strength=np.zeros(len(tight.vertices))), wardrobe / "tight.glb")
    (wardrobe / "bad.glb").write_bytes(b"no garment")
    return wardrobe


def body_of(wardrobe: Path) -> Body:
    return load_body(wardrobe.parent / "body.glb")


def checked(
    wardrobe: Path,
    store: FinishedStore,
    *,
    engine: Engine | None = None,
    shapes: ShapeSettings = FEW,
    asked: Sequence[Path] = (),
) -> WardrobeChecked:
    """The wardrobe checked without causes."""
    return check_wardrobe(
        body_of(wardrobe),
        wardrobe_files(asked or [wardrobe]),
        following=lambda _: DEFAULT_FOLLOWING,
        shapes=shapes,
        bands=DEFAULT_BANDS,
        causes=False,
        engine=engine or Processes(1),
        store=store,
    )


def kept(store: FinishedStore) -> dict[str, tuple[bytes, bytes, bytes]]:
    """Everything that a store holds, by garment."""
    found = [(one.name, (one.key, one.line, one.data)) for one in store.entries(with_data=True)]
    assert len(dict(found)) == len(found)
    return dict(found)
