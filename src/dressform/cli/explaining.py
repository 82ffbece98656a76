"""Causes of what a check found, put into its report."""

import time
from dataclasses import replace

from dressform.causes.explain import explain
from dressform.causes.results import Causes
from dressform.cli.checking import Checked
from dressform.cli.console import Advance
from dressform.cli.reading import read_others
from dressform.fit.fit import Fit
from dressform.repair.clearance import DEFAULT_MARGIN


def find_causes(checked: Checked, advance: Advance) -> Checked:
    """Explain every cluster of every garment; the report then holds causes, and its time counts theirs.

    Garments that follow alike are explained together: a place is shared by garments, not by ways of one garment.
    """
    start = time.perf_counter()
    job, body_file = checked.job, checked.job.body_file
    others = read_others(body_file, job.reading)
    alike: dict[tuple[str, str, float | None], dict[str, Fit]] = {}
    for one in checked.fitted:
        alike.setdefault((one.way, one.ease, one.turn), {})[one.key] = one.fit
    found: list[Causes] = []
    for (way, ease, turn), fits in alike.items():
        before = sum(len(causes.of_garment) for causes in found)

        def counted(done: int, _: int, *, before: int = before) -> None:
            advance(before + done, len(checked.fitted))

        found.append(
            explain(
                body_file.body, fits, checked.swept, way=way, ease=ease, turn=turn,
                margin=DEFAULT_MARGIN if job.margin is None else job.margin, bands=job.bands, others=others,
                progress=counted,
            )
        )  # fmt: skip
    seconds = checked.report.seconds + time.perf_counter() - start
    return replace(checked, report=replace(checked.report.with_causes(_joined(found)), seconds=seconds))


def _joined(found: list[Causes]) -> Causes:
    """All causes as one."""
    return Causes(
        {key: explained for one in found for key, explained in one.of_garment.items()},
        tuple(place for one in found for place in one.shared),
        {key: seconds for one in found for key, seconds in one.seconds.items()},
    )
