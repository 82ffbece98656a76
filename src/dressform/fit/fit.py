"""A fit: a garment with its lifted morphs and skin weights. What is followed, checked, repaired and exported."""

from dataclasses import dataclass

import numpy as np

from dressform.arrays import ClothDeltas, ClothPoints, Weights
from dressform.body.body import COPY_SHARE
from dressform.body.skeleton import Skin
from dressform.errors import MatchError
from dressform.garment.garment import Garment


@dataclass(frozen=True)
class Fit:
    """`base + Σ_k weights_k deltas_k`: the same object live, in the exported file and in the proof.

    Attributes:
        garment: The garment that was fitted.
        base: Cloth at the base, (G, 3), metres. The garment's own vertices unless a repair moved them.
        morph_names: The body's morph names, in its order.
        deltas: Cloth displacement per morph at weight 1, (K, G, 3).
        skin: Lifted joint weights, or None where the body has none.

    Raises:
        MatchError: counts disagree.
    """

    garment: Garment
    base: ClothPoints
    morph_names: tuple[str, ...]
    deltas: ClothDeltas
    skin: Skin | None = None

    def __post_init__(self) -> None:
        wanted = (len(self.morph_names), len(self.garment.vertices), 3)
        if self.deltas.shape != wanted or self.base.shape != wanted[1:]:
            raise MatchError(
                f"Fit: `deltas` of {self.garment.name!r} must be {wanted} (morphs, vertices, 3), "
                f"got {self.deltas.shape}. Lift every morph of the body."
            )

    def at(self, weights: Weights) -> ClothPoints:
        """Cloth vertices at `weights`, (G, 3); few active morphs cost less."""
        active = np.flatnonzero(weights)
        if active.size > COPY_SHARE * len(weights):
            return self.base + np.tensordot(weights, self.deltas, axes=1)
        return self.base + np.tensordot(weights[active], self.deltas[active], axes=1)
