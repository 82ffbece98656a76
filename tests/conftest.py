"""Skips are for machines that lack a browser or Node; where they are declared present, a skip is a failure.

Each file of tests runs in one process, the longest first, and leaves nothing behind that it kept for its own tests.
"""

import gc
import importlib
import os
import sys
from collections.abc import Iterator
from typing import Any

import hypothesis
import jaxtyping
import pytest

from memory import Leftovers
from shape_checks import checked
from warm import is_cold, warm

jaxtyping.jaxtyped = checked  # before anything imports the package, whose modules the option in pyproject.toml hooks

hypothesis.settings.register_profile("repeatable", derandomize=True, deadline=None)
hypothesis.settings.load_profile("repeatable")

# Programs that tests start share what the first of them has compiled.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
# Nor does the width of the terminal in which the tests run change what they see.
os.environ.pop("COLUMNS", None)

DRAWING = ("test_raster", "test_edge_lines", "test_picture")
"""Files of tests about how pictures look."""
LEFTOVERS = Leftovers()
REQUIRED = frozenset(os.environ.get("DRESSFORM_REQUIRE", "").split())


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_setupnodes() -> None:
    """Before several processes start on a fresh checkout."""
    if is_cold():
        warm()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """A file is one process's alone: what its tests share is made once."""
    config.option.loadscopereorder = False  # not by how many tests a file has: see below
    return importlib.import_module("xdist.scheduler").LoadFileScheduling(config, log)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long files first, so that processes end together."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


def pytest_collection_finish() -> None:
    """What was imported stays to the end: whoever looks for rubbish need not look there."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="module", autouse=True)
def nothing_kept(request: pytest.FixtureRequest) -> Iterator[None]:
    """What functions of a file of tests keep for its tests is let go after the last of them, memory and all."""
    yield
    kept = [one for one in vars(request.module).values() if hasattr(one, "cache_clear")]
    for one in kept:
        if one.__module__ == request.module.__name__:
            one.cache_clear()
    LEFTOVERS.release(at_once=bool(kept))


def pytest_runtest_teardown() -> None:
    """No test takes the memory of those before it."""
    LEFTOVERS.release()


@pytest.fixture(scope="module", autouse=True)
def quick_pictures(request: pytest.FixtureRequest) -> Iterator[None]:
    """One sample a pixel, not four, but where drawing itself is tested: hundreds of pictures are drawn to be counted,
    found or written, at a third of the time."""
    drawing = [sys.modules.get(f"dressform.report.pictures.{name}") for name in ("raster", "edge_lines")]
    with pytest.MonkeyPatch.context() as patch:
        for module in drawing if request.path.stem not in DRAWING else ():
            if module is not None:
                patch.setattr(module, "SAMPLES", 1)
        yield


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[Any]) -> Iterator[Any]:
    report = yield
    marks = {mark.name for mark in item.iter_markers()} & REQUIRED
    if report.skipped and marks:
        report.outcome = "failed"
        report.longrepr = f"skipped, but {', '.join(sorted(marks))} is required here: {report.longrepr}"
    return report


@pytest.fixture(scope="session", autouse=True)
def one_processor() -> Iterator[None]:
    """What takes one process per processor by default works in the test's own: starting others costs seconds."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(os, "cpu_count", lambda: 1)
        yield
