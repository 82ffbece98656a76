"""Shares against closed forms: games whose Shapley value is known."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.causes.shares import average_shares

NAMES = ("a", "b", "c")


def test_causes_that_do_not_interact_have_what_they_take_away() -> None:
    taken = {"a": 0.5, "b": 0.3, "c": 0.1}
    shares = average_shares(NAMES, lambda swapped: 8.0 * (1.0 - sum(taken[each] for each in swapped)))
    assert shares == pytest.approx(taken)


def test_either_of_two_that_removes_all_has_half() -> None:
    assert average_shares(("a", "b"), lambda swapped: 0.0 if swapped else 3.0) == pytest.approx({"a": 0.5, "b": 0.5})


def test_two_that_only_help_together_have_half_each() -> None:
    shares = average_shares(("a", "b"), lambda swapped: 0.0 if len(swapped) == 2 else 3.0)
    assert shares == pytest.approx({"a": 0.5, "b": 0.5})


def test_a_swap_that_makes_it_worse_has_no_share() -> None:
    shares = average_shares(("a", "b"), lambda swapped: 5.0 if swapped == {"b"} else 0.0 if "a" in swapped else 2.0)
    assert shares == pytest.approx({"a": 1.0, "b": 0.0})


def test_no_fault_and_no_causes_have_no_shares() -> None:
    assert average_shares(("a",), lambda swapped: 0.0) == {"a": 0.0}
    assert average_shares((), lambda swapped: 1.0) == {}


def test_every_set_is_measured_once() -> None:
    asked: list[frozenset[str]] = []

    def left(swapped: frozenset[str]) -> float:
        asked.append(swapped)
        return 1.0

    average_shares(NAMES, left)
    assert len(asked) - asked.count(frozenset()) == 7
    assert len(set(asked)) == 8


@given(st.lists(st.floats(0.0, 1.0), min_size=8, max_size=8))
def test_shares_of_falling_faults_sum_to_what_all_take_away_and_equal_the_mean_over_orders(found: list[float]) -> None:
    sets = [frozenset(name for bit, name in enumerate(NAMES) if number >> bit & 1) for number in range(8)]
    table = {each: min([1.0, *(found[k] for k, other in enumerate(sets) if other <= each and other)]) for each in sets}
    shares = average_shares(NAMES, table.__getitem__)
    assert sum(shares.values()) == pytest.approx(1.0 - table[frozenset(NAMES)])
    orders = [(a, b, c) for a in NAMES for b in NAMES for c in NAMES if len({a, b, c}) == math.factorial(3) // 2]
    for name in NAMES:
        drops = [table[frozenset(o[: o.index(name)])] - table[frozenset(o[: o.index(name) + 1])] for o in orders]
        assert shares[name] == pytest.approx(np.mean(drops), abs=1e-12)
