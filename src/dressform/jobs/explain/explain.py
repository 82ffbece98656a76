"""Explaining: why every fault of a check is there, and what to change."""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.calls import called
from dressform.causes.explained_garment import explained_wardrobe
from dressform.formats.load import BodyFile, others_reader
from dressform.jobs.check_result import CheckResult
from dressform.jobs.explain.garments import explain_garments
from dressform.jobs.progress import Progress, stage


@called("explain")
def explain(
    result: CheckResult,
    *,
    others: Sequence[Body] | None = None,
    stances: Sequence[Stance] | None = None,
    progress: Progress | None = None,
) -> CheckResult:
    """Find the causes of what a check found, each confirmed by swapping one ingredient and measuring again.

    Args:
        result: What `check` found.
        others: Other base bodies on which a garment may have been modelled; those that the check knew of
            if left out.
        stances: Stances at which faults are explained beside rest; all those of the check if left out.
        progress: Told how far it has come.

    Returns:
        The same result with causes and advice.

    Proof: tests/causes/test_explain_demo.py
    """
    start = time.perf_counter()
    wardrobe = result.wardrobe if others is None else explained_wardrobe(bands=result.bands, others=others)
    told = stage(progress, "finding causes")
    causes = explain_garments(
        result.fits,
        result.swept,
        under=result.under,
        stances=result.stances if stances is None else stances,
        wardrobe=wardrobe,
        workers=result.workers,
        progress=told,
    )
    return replace(result, causes=causes, wardrobe=wardrobe, seconds=result.seconds + time.perf_counter() - start)


def others_of(body: Body) -> Callable[[], Sequence[Body]]:
    """What reads the other base bodies of the file that a body was read from; nothing where it has no file."""
    return others_reader(body.source) if isinstance(body.source, BodyFile) else tuple
