"""The search for worse shapes at stances: from where a sweep found most skin on, by the closed form asked again there.

The closed form of `worst.py` pairs skin and cloth on the base body. On the shape that a sweep found worst they are
paired anew, and the corners that these pairs name are measured; while one of them shows more, the search goes on there.
"""

from collections.abc import Mapping, Sequence
from time import perf_counter

import numpy as np

from dressform.arrays import Weights
from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import graded_values
from dressform.fit.posed import posed_fit
from dressform.interrupts import raise_if_interrupted
from dressform.sweep.results import SweepRow
from dressform.sweep.worst import covered_points, worst_shapes

STANCES_SEARCHED = 3
"""Of each garment so many stances are searched, those first at which most skin shows."""
ROUNDS = 3
CORNERS = 3
"""So many corners are measured in each of at most so many rounds."""


def search_worse(worn: GarmentOnBody, rows: Sequence[SweepRow], stances: Sequence[Stance]) -> list[SweepRow]:
    """Shapes of one garment that show more skin at its worst stances than any that a sweep looked at, as rows.

    Args:
        worn: The garment on its body.
        rows: What the sweep found about it.
        stances: The stances that it looked at.

    Returns:
        Rows labelled `found 1` and so on, in the order in which they were found; none where nothing is worse.

    Proof: tests/sweep/test_search.py::test_search_finds_at_least_what_the_best_of_all_corners_shows
    """
    found = list[SweepRow]()
    known = {(row.faults.stance, _key(row.weights)) for row in rows}
    for stance, row in _worst_first(rows, stances)[:STANCES_SEARCHED]:
        posed, best = posed_fit(worn.fit, stance), row
        for _ in range(ROUNDS):
            pairs = covered_points(posed, at=best.weights)
            corners = [one.shape.weights for one in worst_shapes(posed, most=CORNERS, covered=pairs)]
            new = [corner for corner in corners if (stance.name, _key(corner)) not in known]
            known |= {(stance.name, _key(corner)) for corner in new}
            measured = [_measured(worn, best.garment, stance, corner, len(found)) for corner in new]
            worse = max(measured, key=_shown, default=best)
            if _shown(worse) <= _shown(best):
                break
            found.append(worse)
            best = worse
    return found


def _worst_first(rows: Sequence[SweepRow], stances: Sequence[Stance]) -> list[tuple[Stance, SweepRow]]:
    """The row of each stance that shows most, that stance first at which most is shown."""
    by_name: Mapping[str, Stance] = {stance.name: stance for stance in stances}
    worst: dict[str, SweepRow] = {}
    for row in rows:
        name = row.faults.stance
        if name in by_name and (name not in worst or _shown(row) > _shown(worst[name])):
            worst[name] = row
    ranked = sorted(worst.values(), key=_shown, reverse=True)
    return [(by_name[row.faults.stance], row) for row in ranked]


def _shown(row: SweepRow) -> tuple[float, int, float]:
    """What is sought: skin that shows; where none does, what lies in the body and how grave it is."""
    values = graded_values(row.faults)
    return values[EXPOSED.key], SEVERITIES.index(row.faults.severity), values[DEPTH.key]


def _measured(worn: GarmentOnBody, key: str, stance: Stance, weights: Weights, number: int) -> SweepRow:
    raise_if_interrupted()
    start = perf_counter()
    faults = worn.measure(weights, stance)
    return SweepRow(key, f"found {number + 1}", weights, faults, perf_counter() - start, False)


def _key(weights: Weights) -> bytes:
    return (np.round(np.asarray(weights, dtype=np.float64), 9) + 0.0).tobytes()
