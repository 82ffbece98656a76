"""Causes of what a check found, put into its report."""

import time
from dataclasses import replace

from dressform.causes.explain import Manner, explain_each
from dressform.cli.checking import Checked
from dressform.cli.console import Advance
from dressform.cli.reading import read_others
from dressform.repair.clearance import DEFAULT_MARGIN


def find_causes(checked: Checked, advance: Advance) -> Checked:
    """Explain every cluster of every garment; the report then holds causes, and its time counts theirs."""
    start = time.perf_counter()
    job, body_file = checked.job, checked.job.body_file
    margin = DEFAULT_MARGIN if job.margin is None else job.margin
    causes = explain_each(
        body_file.body,
        {one.key: one.fit for one in checked.fitted},
        checked.swept,
        {one.key: Manner(one.method, one.ease, one.rotation_share, margin) for one in checked.fitted},
        bands=job.bands,
        others=read_others(body_file, job.reading),
        progress=advance,
    )
    seconds = checked.report.seconds + time.perf_counter() - start
    return replace(checked, report=replace(checked.report.with_causes(causes), seconds=seconds))
