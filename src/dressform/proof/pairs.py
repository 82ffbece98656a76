"""Which triangle pairs can come near each other at some shape of the range. The list misses none."""

import numpy as np
from jaxtyping import Int

from dressform.body.range import Range
from dressform.proof.linear_mesh import LinearMesh
from dressform.proof.range_kernels import leaf_pairs, triangle_pairs


def near_pairs(cloth: LinearMesh, body: LinearMesh, box: Range, *, margin: float) -> Int[np.ndarray, "P 2"]:
    """Pairs (cloth face, body face) that no coordinate axis keeps `margin` apart at every weight of the range, (P, 2).

    Every pair left out is certified: along one axis its gap stays at or above `margin` metres for all weights. The
    list holds no heuristic radius; it may hold pairs that never come near. Sorted by cloth face, then body face.

    Cost: grows with the pairs that are near. Proof: tests/proof/test_pairs.py
    """
    a, b = cloth.tree, body.tree
    leaves = leaf_pairs(cloth.boxes, a.first, a.count, body.boxes, b.first, b.count, box.low, box.high, margin)
    most = int(max(a.count.max(), b.count.max()))
    pairs = triangle_pairs(
        leaves[np.argsort(leaves[:, 0], kind="stable")],
        a.order, a.first, a.count, cloth.terms, a.faces,
        b.order, b.first, b.count, body.terms, b.faces,
        box.low, box.high, margin, most,
    )  # fmt: skip
    return pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
