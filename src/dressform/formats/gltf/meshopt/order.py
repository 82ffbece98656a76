"""The order of triangles and vertices in which neighbours follow each other, so that differences are small."""

from collections import deque

import numpy as np
from jaxtyping import Float, Int
from scipy.spatial import cKDTree

RECENT = 16
"""So many edges the compression remembers."""
FEW = 8
"""So many of the nearest triangles are asked first, then so many times more."""


def neighbouring_order(faces: Int[np.ndarray, "F 3"], vertices: Float[np.ndarray, "V 3"]) -> Int[np.ndarray, " F"]:
    """Triangles in an order in which most share an edge with one of the last few, (F,).

    Of the triangles beyond the edges that were met last, the one with fewest neighbours left comes next, so that none
    has to be come back for; where there is none, the nearest that is left.
    """
    beyond: dict[tuple[int, int], list[int]] = {}
    corners = faces.tolist()
    for index, (a, b, c) in enumerate(corners):
        for edge in ((a, b), (b, c), (c, a)):
            beyond.setdefault(edge, []).append(index)
    left = [sum(len(beyond.get(edge, ())) for edge in ((b, a), (c, b), (a, c))) for a, b, c in corners]
    nearest = _Nearest(vertices[faces].mean(axis=1))
    order: list[int] = []
    recent: deque[tuple[int, int]] = deque(maxlen=RECENT)
    while len(order) < len(corners):
        waiting = (index for edge in recent for index in beyond.get(edge, ()) if not nearest.taken[index])
        found = min(waiting, key=left.__getitem__, default=-1)  # of equals the one met last
        if found < 0:
            found = nearest.to(order[-1] if order else 0)
        nearest.taken[found] = True
        order.append(found)
        a, b, c = corners[found]
        met = ((b, a), (c, b), (a, c))
        for edge in met:
            for index in beyond.get(edge, ()):
                left[index] -= 1
        recent.extendleft(met)
    return np.array(order, dtype=np.int64)


class _Nearest:
    """Points, of which some are taken, and the nearest to one of them that is not."""

    def __init__(self, points: Float[np.ndarray, "F 3"]) -> None:
        self.points = points
        self.taken = np.zeros(len(points), dtype=np.bool_)
        self._rows = np.arange(len(points))
        self._tree = cKDTree(points)

    def to(self, index: int) -> int:
        """Number of the nearest point that is not taken. The tree is built anew as soon as half of it is taken."""
        count = FEW
        while True:
            near = np.atleast_1d(self._tree.query(self.points[index], k=min(count, len(self._rows)))[1])
            free = near[~self.taken[self._rows[near]]]
            if free.size:
                return int(self._rows[free[0]])
            if 2 * self.taken[self._rows].sum() > len(self._rows):
                self._rows = np.flatnonzero(~self.taken)
                self._tree = cKDTree(self.points[self._rows])
            count *= FEW


def first_use(faces: Int[np.ndarray, "F 3"], count: int) -> Int[np.ndarray, " N"]:
    """Vertices in the order in which triangles name them; those that none names come last, (N,)."""
    named, places = np.unique(faces.ravel(), return_index=True)
    used = named[np.argsort(places)]
    rest = np.setdiff1d(np.arange(count), used, assume_unique=True)
    return np.concatenate([used, rest])
