"""The order of triangles and vertices in which neighbours follow each other, so that differences are small."""

from collections import deque

import numpy as np
from jaxtyping import Int

RECENT = 16
"""So many edges the compression remembers."""


def neighbouring_order(faces: Int[np.ndarray, "F 3"]) -> Int[np.ndarray, " F"]:
    """Triangles in an order in which most share an edge with one of the last few, (F,).

    From the edges that were met last, the newest first, to a triangle beyond that has not been taken; where there is
    none, to the first that is left.
    """
    beyond: dict[tuple[int, int], list[int]] = {}
    corners = faces.tolist()
    for index, (a, b, c) in enumerate(corners):
        for edge in ((a, b), (b, c), (c, a)):
            beyond.setdefault(edge, []).append(index)
    taken = bytearray(len(corners))
    order: list[int] = []
    recent: deque[tuple[int, int]] = deque(maxlen=RECENT)
    first = 0
    while len(order) < len(corners):
        found = next(
            (index for edge in recent for index in beyond.get(edge, ()) if not taken[index]),
            -1,
        )
        if found < 0:
            while taken[first]:
                first += 1
            found = first
        taken[found] = 1
        order.append(found)
        a, b, c = corners[found]
        recent.extendleft(((b, a), (c, b), (a, c)))
    return np.array(order, dtype=np.int64)


def first_use(faces: Int[np.ndarray, "F 3"], count: int) -> Int[np.ndarray, " N"]:
    """Vertices in the order in which triangles name them; those that none names come last, (N,)."""
    named, places = np.unique(faces.ravel(), return_index=True)
    used = named[np.argsort(places)]
    rest = np.setdiff1d(np.arange(count), used, assume_unique=True)
    return np.concatenate([used, rest])
