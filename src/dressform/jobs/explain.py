"""Explaining: why every fault of a check is there, and what to change."""

import time
from collections.abc import Sequence
from dataclasses import replace

from dressform.body.body import Body
from dressform.causes import explain as explaining
from dressform.formats.load import BodyFile, load_others
from dressform.jobs.check_result import CheckResult
from dressform.jobs.progress import Progress, stage


def explain(
    result: CheckResult, *, others: Sequence[Body] | None = None, progress: Progress | None = None
) -> CheckResult:
    """Find the causes of what a check found, each confirmed by swapping one ingredient and measuring again.

    Args:
        result: What `check` found.
        others: Other base bodies on which a garment may have been modelled; those of the body's file if left out.
        progress: Told how far it has come.

    Returns:
        The same result with causes and advice.

    Proof: tests/causes/test_explain_demo.py
    """
    start = time.perf_counter()
    if others is None:
        source = next(iter(result.fits.values())).body.source
        others = load_others(source) if isinstance(source, BodyFile) else ()
    causes = explaining.explain(
        result.fits, result.swept, bands=result.bands, others=others, progress=stage(progress, "finding causes")
    )
    return replace(result, causes=causes, seconds=result.seconds + time.perf_counter() - start)
