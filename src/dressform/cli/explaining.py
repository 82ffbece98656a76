"""Causes of what a check found: asked for garment by garment, way by way, and put into the report."""

import time
from dataclasses import replace

from dressform.causes.explain import explain
from dressform.causes.results import Causes
from dressform.cli.checking import Checked
from dressform.cli.console import Advance
from dressform.repair.clearance import DEFAULT_MARGIN


def find_causes(checked: Checked, advance: Advance) -> Checked:
    """Explain every cluster of every garment; the report then holds causes, and its time counts theirs.

    Ways of lifting are explained apart: places are shared by garments, not by ways of one garment.
    """
    start = time.perf_counter()
    job, swept, body = checked.job, checked.swept, checked.job.body_file.body
    found: list[Causes] = []
    for number, way in enumerate(job.ways):
        fits = {one.key: one.fit for one in checked.fitted if one.way == way}

        def counted(done: int, total: int, *, before: int = number) -> None:
            advance(before * total + done, len(job.ways) * total)

        found.append(
            explain(
                body, fits, swept, way=way, ease=job.following.ease, turn=job.following.turn,
                margin=DEFAULT_MARGIN if job.margin is None else job.margin, bands=job.bands, progress=counted,
            )
        )  # fmt: skip
    seconds = checked.report.seconds + time.perf_counter() - start
    return replace(checked, report=replace(checked.report, causes=_joined(found), seconds=seconds))


def _joined(found: list[Causes]) -> Causes:
    """The causes of all ways as one."""
    return Causes(
        {key: explained for one in found for key, explained in one.of_garment.items()},
        tuple(place for one in found for place in one.shared),
        {key: seconds for one in found for key, seconds in one.seconds.items()},
    )
