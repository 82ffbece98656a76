"""`--memory` raises and lowers what reading one file may take."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from dressform.formats.guards.limits import DEFAULT_MEMORY, limited_memory
from phantoms import write_obj

Run = Callable[..., Any]


def test_memory_is_limited_by_the_option(tmp_path: Path, dressform: Run) -> None:
    count = 300_000
    fan = np.stack([np.zeros(count), np.arange(count) + 1, np.arange(count) + 2], axis=1).astype(int)
    angle = np.linspace(0.0, 3.0, count + 2)
    points = np.stack([np.cos(angle), np.sin(angle) + 1.0, 0.0 * angle], axis=1)
    body = write_obj(tmp_path / "wide.obj", points, fan)
    with limited_memory(DEFAULT_MEMORY):
        ended = dressform("measure", body, "--memory", "0.0625")
    assert ended.code == 2
    assert "GiB of memory; the limit is 0.0625 GiB" in ended.line


def test_a_limit_that_nothing_could_keep_is_refused_by_its_option(phantom: Path, dressform: Run) -> None:
    ended = dressform("measure", phantom / "phantom.obj", "--memory", "0.001")
    assert ended.code == 2
    assert "`--memory` must be at least 0.0625 GiB, got 0.001" in ended.line
