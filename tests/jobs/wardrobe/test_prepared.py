"""A body is prepared once for all processes of a wardrobe, kernels are loaded before, and nothing in vain."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from dressform.causes import explained_body
from dressform.faults import body_context
from dressform.faults.severity import DEFAULT_BANDS
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.jobs.wardrobe.check_work import CheckWork
from dressform.jobs.wardrobe.task import GarmentTask
from dressform.sweep.crew import Processes
from dressform.sweep.staff import PreparedJob
from dressform.sweep.store import open_shared, shared
from phantoms import phantom_body
from wardrobes import FEW, small_wardrobe

FOUND_ON_THE_BODY = ("find_rigid_patches", "curvature_tensors", "paths_along", "LimbMotion", "Brush")
"""What causes ask of the body itself."""


def test_a_process_finds_nothing_again_that_was_prepared_of_the_body(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wardrobe = small_wardrobe(tmp_path, count=0)
    work = CheckWork(phantom_body(rings=16, sides=16), (), (), FEW, (), DEFAULT_BANDS, True)
    task = GarmentTask("tight", "tight.glb", str(wardrobe / "tight.glb"), DEFAULT_FOLLOWING, b"")
    assert isinstance(work, PreparedJob)
    with shared(work.prepared()) as path:
        sent = open_shared(path)
        for name in FOUND_ON_THE_BODY:
            monkeypatch.setattr(explained_body, name, lambda *args: pytest.fail("the body is prepared again"))
        for name in ("find_trunk", "standing_body", "trust_skin"):
            monkeypatch.setattr(body_context, name, lambda *args: pytest.fail("the body is prepared again"))
        (done,) = sent.begin()(task)
    assert done.line
    assert not done.failed


@dataclass(frozen=True)
class Unasked:
    """A job that nobody should prepare or begin."""

    def prepared(self) -> "Unasked":
        pytest.fail("prepared in vain")

    def begin(self) -> Callable[[object], Iterator[object]]:
        pytest.fail("begun in vain")


def test_where_there_is_nothing_to_do_nothing_is_prepared_and_no_process_started() -> None:
    assert list(Processes(2).run(Unasked(), [], lambda found: ())) == []


LOADED = """
import sys
import dressform.jobs.wardrobe.check_work as work
from dressform.mesh.jit import _Guarded
from importlib import import_module
import_module(work.LOADED)
kernels = {id(one): one for name, module in list(sys.modules.items()) if name.startswith("dressform.")
           for one in vars(module).values() if isinstance(one, _Guarded)}
used = [one for one in kernels.values() if one.signatures]
print(*(one.__name__ for one in used))
"""


def test_the_server_of_the_processes_has_loaded_what_a_check_begins_with() -> None:
    done = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    assert set(done.stdout.split()) >= {"build", "cast", "closest_points", "candidate_pairs", "classify", "eliminate"}
