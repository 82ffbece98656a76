"""Compiled flood over the edges of a mesh."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def spots(marked: Any, first: Any, around: Any) -> Any:
    """Number of the connected spot of each marked vertex, (N,), in the order of their first vertices."""
    count = len(first) - 1
    place = np.full(count, -1)
    for i in range(len(marked)):
        place[marked[i]] = i
    labels = np.full(len(marked), -1)
    queue = np.zeros(len(marked), dtype=np.int64)
    used = 0
    for i in range(len(marked)):
        if labels[i] >= 0:
            continue
        labels[i] = used
        queue[0] = marked[i]
        head, tail = 0, 1
        while head < tail:
            v = queue[head]
            head += 1
            for e in range(first[v], first[v + 1]):
                j = place[around[e]]
                if j >= 0 and labels[j] < 0:
                    labels[j] = used
                    queue[tail] = around[e]
                    tail += 1
        used += 1
    return labels
