"""Answers about the base that later shapes ask for again."""

from collections.abc import Callable

import numpy as np
from jaxtyping import Bool, Int


class KeptAnswers:
    """Yes or no by number, worked out once.

    What is kept is replaced as a whole and never written into, so threads may share it, and so may processes that have
    it in memory that they only read.
    """

    def __init__(self) -> None:
        self._kept = np.zeros(0, dtype=np.int64), np.zeros(0, dtype=bool)

    def __len__(self) -> int:
        return len(self._kept[0])

    def get(
        self, numbers: Int[np.ndarray, " N"], find: Callable[[Int[np.ndarray, " M"]], Bool[np.ndarray, " M"]]
    ) -> Bool[np.ndarray, " N"]:
        """The answers to these different numbers, (N,); `find` gives those at the places that are not known yet."""
        known, kept = self._kept  # read once: another thread may replace it
        places = np.searchsorted(known, numbers)
        answers = np.zeros(len(numbers), dtype=bool)
        old = places < len(known)
        old[old] = known[places[old]] == numbers[old]
        answers[old] = kept[places[old]]
        new = np.flatnonzero(~old)
        if new.size:
            answers[new] = find(new)
            order = new[np.argsort(numbers[new])]
            self._kept = (
                np.insert(known, places[order], numbers[order]),
                np.insert(kept, places[order], answers[order]),
            )
        return answers
