"""Pairs that a repair keeps from round to round: each once, the earlier first."""

import numpy as np
import pytest

from dressform.repair.clear.clearance_case import with_new


@pytest.mark.parametrize("seed", range(5))
def test_pairs_held_stay_in_their_order_and_only_those_that_are_new_follow(seed: int) -> None:
    rng = np.random.default_rng(seed)
    width = 7
    every = np.argwhere(np.ones((9, width), dtype=bool))
    held, short = every[rng.permutation(len(every))[:20]], every[rng.permutation(len(every))[:25]]
    known = set(map(tuple, held.tolist()))
    expected = held.tolist() + [pair for pair in short.tolist() if tuple(pair) not in known]
    assert with_new(held, short, width).tolist() == expected


def test_pairs_whose_faces_are_swapped_are_two() -> None:
    assert with_new(np.array([[1, 2]]), np.array([[2, 1], [1, 2], [2, 2]]), 5).tolist() == [[1, 2], [2, 1], [2, 2]]
