"""The search for worse shapes at stances: from where a sweep found most skin on, by the closed form asked again there.

The closed form of `worst.py` pairs skin and cloth on the base body. On the shape that a sweep found worst they are
paired anew, and the corners that these pairs name are measured, and ends of sliders that move joints; while one of them
shows more, the search goes on there.
"""

from collections.abc import Sequence
from time import perf_counter

import numpy as np

from dressform.arrays import Weights
from dressform.body.shapes import Shape
from dressform.body.stance import Stance
from dressform.body.stances.sliders import slid_stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import graded_values
from dressform.fit.fit import Fit
from dressform.fit.posed import posed_fit
from dressform.interrupts import raise_if_interrupted
from dressform.sweep.posed_shapes import ENDS_TRIED
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
    known = {_key(row.stance, row.weights) for row in rows}
    for row in _worst_first(rows, stances)[:STANCES_SEARCHED]:
        best = row
        for _ in range(ROUNDS):
            new = [one for one in _candidates(worn, best) if _key(one.stance, one.weights) not in known]
            known |= {_key(one.stance, one.weights) for one in new}
            measured = [_measured(worn, best.garment, one, len(found)) for one in new]
            worse = max(measured, key=_shown, default=best)
            if _shown(worse) <= _shown(best):
                break
            found.append(worse)
            best = worse
    return found


def _candidates(worn: GarmentOnBody, best: SweepRow) -> list[Shape]:
    """Corners of the weights where the worst row stands, and ends of sliders that move joints at its own weights.

    Pairs of skin and cloth are those of that row's shape. Of the ends those are taken at which these pairs go deepest.
    """
    stance = best.stance
    assert stance is not None
    posed = posed_fit(worn.fit, stance)
    corners = worst_shapes(posed, most=CORNERS, covered=covered_points(posed, at=best.weights))
    return [*(Shape("", one.shape.weights, stance) for one in corners), *_other_ends(worn.fit, stance, best.weights)]


def _other_ends(fit: Fit, stance: Stance, weights: Weights) -> list[Shape]:
    """The pose with one slider at another end, the others where they are: those where cloth comes nearest to skin."""
    body, tried = fit.body, []
    if body.skeleton is None:
        return []
    for slider in body.joint_sliders[:ENDS_TRIED]:
        for end in slider.ends.values():
            if stance.sliders.get(slider.name) != end:
                there = slid_stance(stance, body.skeleton, body.joint_sliders, {**stance.sliders, slider.name: end})
                pairs = covered_points(posed_fit(fit, there), at=weights)
                least = float(pairs.at(weights[None]).min(initial=np.inf))
                tried.append((least, Shape("", weights, there)))
    tried.sort(key=lambda one: one[0])
    return [shape for _, shape in tried[:CORNERS]]


def _worst_first(rows: Sequence[SweepRow], stances: Sequence[Stance]) -> list[SweepRow]:
    """The row of each pose that shows most, that pose first at which most is shown."""
    asked = {stance.pose for stance in stances}
    worst: dict[str, SweepRow] = {}
    for row in rows:
        if row.stance is None or row.stance.pose not in asked:
            continue
        pose = row.stance.pose
        if pose not in worst or _shown(row) > _shown(worst[pose]):
            worst[pose] = row
    return sorted(worst.values(), key=_shown, reverse=True)


def _shown(row: SweepRow) -> tuple[float, int, float]:
    """What is sought: skin that shows; where none does, what lies in the body and how grave it is."""
    values = graded_values(row.faults)
    return values[EXPOSED.key], SEVERITIES.index(row.faults.severity), values[DEPTH.key]


def _measured(worn: GarmentOnBody, key: str, shape: Shape, number: int) -> SweepRow:
    raise_if_interrupted()
    start = perf_counter()
    faults = worn.measure(shape.weights, shape.stance)
    seconds = perf_counter() - start
    return SweepRow(key, f"found {number + 1}", shape.weights, faults, seconds, False, shape.stance)


def _key(stance: Stance | None, weights: Weights) -> tuple[bytes, bytes]:
    """Tells a shape at a stance from all others."""
    where = b"" if stance is None else stance.worlds.tobytes()
    return where, (np.round(np.asarray(weights, dtype=np.float64), 9) + 0.0).tobytes()
