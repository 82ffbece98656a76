"""A fault of the program is never taken for a verdict, and an interrupt never for a fault."""

import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.cli import crash
from dressform.version import __version__

Run = Callable[..., Any]


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The program with a fault in it; returns the folder for its logs."""

    def fail(*_: Any, **__: Any) -> None:
        raise KeyError("nobody\nforesaw \x1b[31mthis")

    monkeypatch.setattr("dressform.cli.reading.read_body", fail)
    monkeypatch.setenv(crash.STATE, str(tmp_path / "state"))
    return tmp_path / "state"


def test_unforeseen_error_is_one_line_with_a_log_and_an_exit_code_of_its_own(broken: Path, dressform: Run) -> None:
    ended = dressform("measure", "body.glb")
    assert ended.code == 70
    assert ended.out == ""
    (log,) = broken.iterdir()
    assert str(log) in ended.line
    assert "How to report" in ended.line
    assert "KeyError" in ended.line
    assert "\x1b" not in ended.line
    told = log.read_text(encoding="utf-8")
    assert "Traceback" in told
    assert "'measure', 'body.glb'" in told


def test_log_goes_where_it_is_asked_to_and_later_ones_are_added(broken: Path, tmp_path: Path, dressform: Run) -> None:
    log = tmp_path / "crash.log"
    for count in (1, 2):
        ended = dressform("measure", "body.glb", "--log", log)
        assert ended.code == 70
        assert str(log) in ended.line
        assert log.read_text(encoding="utf-8").count("Traceback") == count
    assert not broken.exists()


def test_log_that_cannot_be_written_goes_to_a_temporary_file(
    broken: Path, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv(crash.STATE, str(tmp_path / "file" / "state"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    ended = dressform("measure", "body.glb")
    assert ended.code == 70
    (log,) = tmp_path.glob("dressform-crash-*.log")
    assert str(log) in ended.line


STUCK = """
import ctypes, signal, sys
from dressform.cli import app
from dressform.cli import reading

def wait(*_, **__):
    print("there", flush=True)
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})  # else the sleep itself would end
    ctypes.CDLL(None).sleep(60)  # compiled code that does not ask whether a signal came

reading.read_body = wait
sys.exit(app.run(["measure", "body.glb"]))
"""

INSTEAD = """
import signal, sys
from dressform.cli import app
from dressform.cli import reading

def wait(*_, **__):
    try:
        signal.raise_signal(signal.SIGINT)
    except KeyboardInterrupt:
        raise ValueError("another error came of it") from None

reading.read_body = wait
sys.exit(app.run(["measure", "body.glb"]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_interrupt_ends_the_program_though_compiled_code_does_not_come_back() -> None:
    running = subprocess.Popen([sys.executable, "-c", STUCK], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert running.stdout is not None
    assert running.stdout.readline() == "there\n"
    start = time.monotonic()
    running.send_signal(signal.SIGINT)
    _, said = running.communicate(timeout=30)
    assert time.monotonic() - start < 20  # 3 s on a machine at leisure
    assert running.returncode == 130
    assert said.count("interrupted") == 1


def test_error_that_comes_instead_of_an_interrupt_is_an_interrupt() -> None:
    ended = subprocess.run([sys.executable, "-c", INSTEAD], capture_output=True, text=True, check=False)
    assert ended.returncode == 130, ended.stderr
    assert "Traceback" not in ended.stderr


def test_interrupt_while_the_program_starts_is_no_traceback() -> None:
    code = (
        "import sys, signal\n"
        "class Finder:\n"
        "    def find_spec(self, name, *_):\n"
        "        if name == 'dressform.cli.app': signal.raise_signal(signal.SIGINT)\n"
        "sys.meta_path.insert(0, Finder())\n"
        "from dressform.cli import main\nmain()"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ended.returncode == 130
    assert ended.stderr == "dressform: interrupted; nothing was left half-written.\n"


def test_exit_code_stands_though_another_thread_is_inside_the_sparse_solver() -> None:
    script = """
import sys, threading
import numpy as np
from scipy.sparse import eye_array
from scipy.sparse.linalg import splu
from dressform.cli import main

begun, matrix = threading.Event(), 2 * eye_array(20_000, format="csc")

def solve():
    while True:
        splu(matrix).solve(np.ones(20_000))
        begun.set()

threading.Thread(target=solve, daemon=True).start()
begun.wait()
sys.argv = ["dressform", "--version"]
main()
"""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"{__version__}\n"
