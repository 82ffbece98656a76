"""Shares: how much of a fault each cause accounts for, averaged over the orders of removing them."""

from collections.abc import Callable, Sequence
from itertools import combinations
from math import factorial

Worth = Callable[[frozenset[str]], float]
"""What is left of the fault when the ingredients of some causes are swapped; of none: the fault as it is."""


def average_shares(causes: Sequence[str], left: Worth) -> dict[str, float]:
    """Share of each cause in the fault, 0 to 1, averaged over all orders of swapping (the Shapley value).

    share(i) = Σ_S |S|! (n − |S| − 1)! / n! · (left(S) − left(S ∪ i)) / left(∅), over the sets S of the other causes.
    The shares sum to the part of the fault that goes away with all of them. A remaining fault counts as at most the
    original fault, so a swap that makes it worse has a share of 0.

    Args:
        causes: Their names; the number of sets to be measured is 2 to the power of their number.
        left: Measures the fault that is left with a set of causes swapped; each set is measured once.

    Source: [Shapley1953]. Proof: tests/causes/test_shares.py
    """
    whole = left(frozenset())
    if not whole > 0 or not causes:
        return dict.fromkeys(causes, 0.0)
    sets = [frozenset(chosen) for size in range(len(causes) + 1) for chosen in combinations(causes, size)]
    known = {each: min(left(each), whole) / whole for each in sets}
    count = len(causes)
    orders = [factorial(size) * factorial(count - size - 1) / factorial(count) for size in range(count)]

    def share(cause: str) -> float:
        without = [each for each in sets if cause not in each]
        total = sum(orders[len(each)] * (known[each] - known[each | {cause}]) for each in without)
        return min(max(total, 0.0), 1.0)

    return {cause: share(cause) for cause in causes}
