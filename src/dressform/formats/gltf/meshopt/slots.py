"""The order of the joints of each vertex, which is free: one in which a joint keeps its place from vertex to vertex."""

import numpy as np
from jaxtyping import Float, Int


def kept_slots(joints: Int[np.ndarray, "N S"], weights: Float[np.ndarray, "N S"]) -> Int[np.ndarray, "N S"]:
    """Where each place of a vertex is to be taken from, (N, S): `np.take_along_axis(joints, found, axis=1)`.

    Neighbours share most joints, so places hold the same joint for long, and their weights change little.
    """
    found = np.zeros(joints.shape, dtype=np.int64)
    before: dict[int, int] = {}
    slots = joints.shape[1]
    for row, (names, shares) in enumerate(zip(joints.tolist(), weights.tolist())):
        taken: dict[int, int] = {}
        waiting = []
        for at in sorted(range(slots), key=lambda at: -shares[at]):
            place = before.get(names[at], -1) if shares[at] > 0 else -1
            if place < 0 or place in taken:
                waiting.append(at)
            else:
                taken[place] = at
        free = (place for place in range(slots) if place not in taken)
        taken |= dict(zip(list(free), waiting))
        before |= {names[at]: place for place, at in taken.items() if shares[at] > 0}
        found[row] = [taken[place] for place in range(slots)]
    return found
