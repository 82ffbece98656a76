"""Causes of what a check found, put into its report."""

import time
from dataclasses import replace

from dressform.causes.explain import explain
from dressform.cli.checking import Checked
from dressform.cli.console import Advance
from dressform.cli.reading import read_others


def find_causes(checked: Checked, advance: Advance) -> Checked:
    """Explain every cluster of every garment; the report then holds causes, and its time counts theirs."""
    start = time.perf_counter()
    job, body_file = checked.job, checked.job.body_file
    causes = explain(
        {one.key: one.fit for one in checked.fitted},
        checked.swept,
        bands=job.bands,
        others=read_others(body_file, job.reading),
        progress=advance,
    )
    seconds = checked.report.seconds + time.perf_counter() - start
    return replace(checked, report=replace(checked.report.with_causes(causes), seconds=seconds))
