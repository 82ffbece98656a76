"""Cloth through the skin on both sides excludes the base body where a shape a centimetre away is free of it."""

import numpy as np
import pytest

from dressform.infer.results import FINE, OTHER_SHAPE
from dressform.infer.search import SearchResult
from dressform.infer.skin import SkinView
from dressform.infer.sunk import Sunk
from dressform.infer.verdict import Candidate, judge
from phantoms import phantom_body

EVERYWHERE, ONE_SIDE, NARROW = Sunk(1.0, 0.5), Sunk(0.2, 0.5), Sunk(1.0, 0.1)
COUNT, WEIGHT = 100, 0.5


def candidate(sunk_so: Sunk, *, sunk: int, apart: float, left: int = 0) -> Candidate:
    """A body whose base the set holds; of 100 points some lie in the skin of the base, some in that of the other."""

    def seen(inside: int, weights: np.ndarray) -> SearchResult:
        clearance = np.where(np.arange(COUNT) < inside, -0.003, 0.010)
        slopes = np.full((COUNT, 3), apart / (3 * WEIGHT))
        view = SkinView(clearance, slopes, np.zeros((COUNT, 3)), np.zeros((COUNT, 3)))
        return SearchResult(weights, weights, 1e-6 * np.eye(3), 0.0, view)

    return Candidate(phantom_body(), seen(left, np.full(3, WEIGHT)), seen(sunk, np.zeros(3)), 10.0, sunk_so)


@pytest.mark.parametrize(
    ("sunk_so", "sunk", "apart", "left", "verdict"),
    [
        (EVERYWHERE, 4, 0.012, 0, OTHER_SHAPE),
        (EVERYWHERE, 4, 0.008, 0, FINE),  # whoever cuts too close errs by millimetres
        (EVERYWHERE, 4, 0.012, 3, FINE),  # the other shape is not free of it
        (EVERYWHERE, 1, 0.012, 0, FINE),
        (ONE_SIDE, 4, 0.012, 0, FINE),
        (NARROW, 4, 0.012, 0, FINE),
    ],
)
def test_the_base_is_excluded_only_where_all_of_it_holds(
    sunk_so: Sunk, sunk: int, apart: float, left: int, verdict: str
) -> None:
    own = candidate(sunk_so, sunk=sunk, apart=apart, left=left)
    assert own.ruled_out < 1.0
    assert judge(own, (), 1.0)[1] == verdict
