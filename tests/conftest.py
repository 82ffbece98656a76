"""Skips are for machines that lack a browser or Node; where they are declared present, a skip is a failure."""

import os
from collections.abc import Iterator
from typing import Any

import hypothesis
import jaxtyping
import pytest

from shape_checks import checked
from warm import is_cold, warm

jaxtyping.jaxtyped = checked  # before anything imports the package, whose modules the option in pyproject.toml hooks

hypothesis.settings.register_profile("repeatable", derandomize=True, deadline=None)
hypothesis.settings.load_profile("repeatable")

# Programs that tests start share what the first of them has compiled.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
# Nor does the width of the terminal in which the tests run change what they see.
os.environ.pop("COLUMNS", None)

REQUIRED = frozenset(os.environ.get("DRESSFORM_REQUIRE", "").split())


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_setupnodes() -> None:
    """Before several processes start on a fresh checkout."""
    if is_cold():
        warm()


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
