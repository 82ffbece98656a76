"""Kernels are compiled by one process at a time."""

from pathlib import Path
from threading import Thread
from typing import Any

import numpy as np
import pytest

from dressform.mesh.jit import jit


@jit
def doubled(values: Any) -> Any:
    return 2.0 * values.sum()


@jit
def halved(values: Any) -> Any:
    return 0.25 * doubled(values)


def test_a_kernel_that_another_process_compiles_is_waited_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fcntl = pytest.importorskip("fcntl")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    found: list[float] = []
    user = Thread(target=lambda: found.append(halved(np.ones(4))))
    with open(__file__, "rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        user.start()
        user.join(0.3)
        assert user.is_alive()
        assert not halved.signatures  # type: ignore[attr-defined]  # numba's
    user.join(60)
    assert found == [2.0]
    doubled(np.ones(3))  # what is compiled waits for nobody
    with open(__file__, "rb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        assert doubled(np.ones(5)) == 10.0
