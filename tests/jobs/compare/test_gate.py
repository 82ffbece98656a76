"""What may grow by how much before it is graver: a share, or an amount of one fault."""

import math

import pytest

from dressform.errors import ArgumentError
from dressform.faults.registry import FAULTS
from dressform.jobs.compare.gate import GATED, ReleaseGate
from dressform.jobs.compare.measures import MEASURES, SETUP

EXPOSED = GATED["exposed"]
RISES, STAYS, CLEAN = ("slight", "moderate"), ("moderate", "moderate"), ("clean", "clean")


def test_a_grade_that_rises_is_graver_whatever_the_share_once_it_counts() -> None:
    gate = ReleaseGate(share=10.0)
    assert gate.is_graver(EXPOSED, 2.0, 3.1, RISES)
    assert not gate.is_graver(EXPOSED, 2.0, 2.9, RISES)


def test_what_keeps_its_grade_may_grow_by_the_share() -> None:
    assert ReleaseGate(0.05).is_graver(EXPOSED, 30.0, 31.6, STAYS)
    assert not ReleaseGate(0.06).is_graver(EXPOSED, 30.0, 31.6, STAYS)
    assert not ReleaseGate(0.0).is_graver(EXPOSED, 0.0, 100.0, CLEAN)


def test_an_amount_of_one_fault_takes_the_place_of_share_and_grade() -> None:
    gate = ReleaseGate(0.05, {"exposed": 4.0})
    assert not gate.is_graver(EXPOSED, 2.0, 6.0, RISES)
    assert gate.is_graver(EXPOSED, 2.0, 6.1, RISES)
    assert gate.is_graver(EXPOSED, 300.0, 304.1, STAYS)
    assert gate.is_graver(GATED["depth"], 5.0, 5.6, STAYS)


def test_an_amount_below_what_counts_makes_the_gate_stricter() -> None:
    assert ReleaseGate(0.05, {"exposed": 0.2}).is_graver(EXPOSED, 2.0, 2.3, STAYS)
    assert not ReleaseGate(0.05, {"exposed": 0.2}).is_graver(EXPOSED, 0.0, 0.3, CLEAN)


def test_time_is_never_graver_and_every_graded_fault_can_be() -> None:
    (setup,) = (one for one in MEASURES if one.key == SETUP)
    assert not ReleaseGate(0.0).is_graver(setup, 1.0, 1e9, ("", ""))
    assert set(GATED) == set(FAULTS)


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        ({"exposd": 1.0}, r"`tolerance` must be for one of .*, got 'exposd'\. Write exposed\."),
        ({"setup": 1.0}, r"must be for one of"),
        ({"depth": -1.0}, r"`tolerance` must be 0 or more, got -1"),
        ({"depth": math.nan}, r"`tolerance` must be 0 or more, got nan"),
    ],
)
def test_amounts_that_cannot_be_meant_are_refused(limits: dict[str, float], words: str) -> None:
    with pytest.raises(ArgumentError, match=words):
        ReleaseGate(0.05, limits)
