"""Ctrl-C, as a terminal sends it: to every process of the group at once."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

SCRIPT = """
import numpy as np
from lift_phantoms import body_of, sphere
from dressform.body.shapes import ShapeSettings
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.sweep.run import choose_shapes, run_sweep

if __name__ == "__main__":
    skin, cloth = sphere(0.2), sphere(0.23, twist=0.1)
    body = body_of(skin, wide=skin[0] * [0.2, 0, 0])
    deltas = (cloth[0] * [0.2, 0, 0])[None]
    fits = {"shell": Fit(body, Garment.of("shell", *cloth), Following(), cloth[0], deltas)}
    shapes = choose_shapes(fits, settings=ShapeSettings(sobol=4096))
    run_sweep(fits, shapes, workers=2, progress=lambda done, total: print(done, flush=True))
"""


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="process groups and their signals are POSIX")
def test_ctrl_c_ends_every_process_at_once_and_only_one_speaks(tmp_path: Path) -> None:
    script = tmp_path / "sweep_shells.py"
    script.write_text(SCRIPT)
    paths = os.pathsep.join([str(Path(__file__).parents[1]), os.environ.get("PYTHONPATH", "")])
    running = subprocess.Popen(
        [sys.executable, str(script)],
        env={**os.environ, "PYTHONPATH": paths},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert running.stdout is not None
    for line in running.stdout:
        if int(line) >= 3:
            break
    os.killpg(running.pid, signal.SIGINT)
    said, complaint = running.communicate(timeout=60)
    assert running.returncode != 0
    assert "4096" not in said
    assert complaint.count("Traceback") == 1
    assert complaint.rstrip().endswith("KeyboardInterrupt")
    assert gone(running.pid)


def gone(group: int, *, within: float = 10.0) -> bool:
    """Whether no process of the group is left after a while."""
    end = time.monotonic() + within
    while time.monotonic() < end:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False
