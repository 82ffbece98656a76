"""Skips are for machines that lack a browser or Node; where they are declared present, a skip is a failure."""

import os
from collections.abc import Iterator
from typing import Any

import hypothesis
import jaxtyping
import pytest

from shape_checks import checked

jaxtyping.jaxtyped = checked  # before anything imports the package, whose modules the option in pyproject.toml hooks

hypothesis.settings.register_profile("repeatable", derandomize=True, deadline=None)
hypothesis.settings.load_profile("repeatable")

REQUIRED = frozenset(os.environ.get("DRESSFORM_REQUIRE", "").split())


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[Any]) -> Iterator[Any]:
    report = yield
    marks = {mark.name for mark in item.iter_markers()} & REQUIRED
    if report.skipped and marks:
        report.outcome = "failed"
        report.longrepr = f"skipped, but {', '.join(sorted(marks))} is required here: {report.longrepr}"
    return report
