"""Ctrl-C always comes out as KeyboardInterrupt, wherever it strikes."""

import signal
import subprocess
import sys
import time
from typing import Any

import numpy as np
import pytest
from numba.core.registry import CPUDispatcher

from dressform.interrupts import heard_interrupts, raise_if_interrupted
from dressform.mesh.jit import jit


@jit
def total(values: Any) -> Any:
    found = 0.0
    for value in values:
        found += value
    return found


@jit
def twice(values: Any) -> Any:
    return 2.0 * total(values)


def test_kernel_calls_and_is_called_as_ever() -> None:
    assert total(np.arange(5.0)) == 10.0
    assert twice(np.arange(5.0)) == 20.0


def test_interrupt_that_comes_out_as_another_error_is_one_again(monkeypatch: pytest.MonkeyPatch) -> None:
    def struck(*_: Any) -> None:
        raise SystemError("returned a result with an exception set") from KeyboardInterrupt()

    monkeypatch.setattr(CPUDispatcher, "__call__", struck)
    with pytest.raises(KeyboardInterrupt):
        total(np.arange(5.0))


def test_other_errors_of_a_kernel_stay_what_they_are(monkeypatch: pytest.MonkeyPatch) -> None:
    def struck(*_: Any) -> None:
        raise SystemError("something else")

    monkeypatch.setattr(CPUDispatcher, "__call__", struck)
    with pytest.raises(SystemError, match="something else"):
        total(np.arange(5.0))


SWALLOWED = """
import signal
import numpy as np
from dressform.interrupts import heard_interrupts

class Finaliser:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)

with heard_interrupts():
    one = Finaliser()
    del one
    print("swallowed", flush=True)
    {use}
    print("went on", flush=True)
"""


@pytest.mark.parametrize(
    "use",
    [
        "from dressform.mesh.tree import Tree; Tree(np.eye(3), np.array([[0, 1, 2]]))",
        "pass",
    ],
)
def test_interrupt_that_was_swallowed_is_raised_at_the_next_kernel_or_at_the_end(use: str) -> None:
    program = SWALLOWED.format(use=use)
    ended = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert "swallowed" in ended.stdout
    assert ("went on" in ended.stdout) == (use == "pass")
    assert ended.returncode == -signal.SIGINT
    assert ended.stderr.rstrip().endswith("KeyboardInterrupt")


LOOP = """
import sys
import numpy as np
from dressform.interrupts import heard_interrupts
from dressform.mesh.tree import Tree
from dressform.mesh.nearest import closest
points = np.random.default_rng(0).normal(size=(300, 3))
tree = Tree(points, np.arange(300).reshape(-1, 3))
closest(tree, points)
print("ready", flush=True)
try:
    with heard_interrupts():
        while True:
            closest(tree, points)
except KeyboardInterrupt:
    sys.exit(130)
"""


def test_interrupts_among_kernels_all_end_the_program() -> None:
    """Each run is struck at another moment."""
    for number in range(5):
        running = subprocess.Popen([sys.executable, "-c", LOOP], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        assert running.stdout is not None
        assert running.stdout.readline() == b"ready\n"
        time.sleep(0.05 + 0.013 * number)
        running.send_signal(signal.SIGINT)
        _, complaint = running.communicate(timeout=60)
        assert running.returncode == 130, complaint.decode()


def test_handler_is_as_before_when_the_block_ends() -> None:
    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(KeyboardInterrupt), heard_interrupts():
        signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before
    raise_if_interrupted()
