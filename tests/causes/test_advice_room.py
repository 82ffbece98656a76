"""Advice on long edges: their ends are brought out only where they lack room."""

import pytest

from dressform.causes.advice import advise
from dressform.causes.results import TOO_FEW_VERTICES
from dressform.repair.resolution import MIN_ROOM
from explanations import cluster


@pytest.mark.parametrize(("lacking", "asked"), [(0.0, False), (0.0005, True)])
def test_ends_that_have_just_the_room_needed_are_not_brought_out_by_nothing(lacking: float, asked: bool) -> None:
    evidence = {"edge_length": 0.04, "bend_radius": 0.09, "margin": 0.0, "clearance": MIN_ROOM - lacking}
    words = advise(TOO_FEW_VERTICES, cluster(), evidence).what
    assert ("farther out" in words) == asked
