"""Which vertices of a body are neighbours along its skin: asked again and again, computed once each."""

import numpy as np
from jaxtyping import Bool, Int
from scipy.sparse.csgraph import dijkstra

from dressform.body.body import Body
from dressform.garment.along import paths_along

ALONG = 0.10
"""Skin nearer than this along the body at rest is a foot's own, metres. A guess, tried on the demo's garments."""
TOGETHER = 64
"""So many sources are asked at once: each needs a row as long as the body."""


class Alongside:
    """Pairs of body vertices within `ALONG` of each other along the skin at rest, found source by source.

    Args:
        body: The body.
    """

    def __init__(self, body: Body) -> None:
        self._paths = paths_along(body.vertices, body.faces)
        # Replaced together, never changed, so that threads need not wait for each other.
        self._known = np.zeros(len(body.vertices), dtype=bool), np.zeros(0, dtype=np.int64)

    def near(self, first: Int[np.ndarray, " N"], second: Int[np.ndarray, " N"]) -> Bool[np.ndarray, " N"]:
        """Whether each pair of vertices is within `ALONG` of each other along the skin, (N,).

        Proof: tests/faults/posed/test_alongside.py
        """
        asked, pairs = self._known
        count = len(asked)
        new = np.unique(first[~asked[first]])
        if new.size:
            found = [pairs]
            for start in range(0, len(new), TOGETHER):
                sources = new[start : start + TOGETHER]
                lengths = dijkstra(self._paths, directed=False, indices=sources, limit=ALONG)
                rows, reached = np.nonzero(np.isfinite(lengths))
                found.append(sources[rows] * count + reached)
            asked, pairs = asked.copy(), np.sort(np.concatenate(found))
            asked[new] = True
            self._known = asked, pairs
        if not len(pairs):
            return np.zeros(len(first), dtype=bool)
        keys = first * count + second
        place = np.minimum(np.searchsorted(pairs, keys), len(pairs) - 1)
        return np.asarray(pairs[place] == keys)
