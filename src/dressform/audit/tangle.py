"""Skin that turns over or passes through itself, which the base body does not do."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints
from dressform.audit.skin import AuditedSkin
from dressform.faults.broken import folded
from dressform.mesh.intersect import Pairs, tree_self_crossings
from dressform.mesh.tree import Tree

HALVINGS = 6  # of a weight, to find up to where nothing is wrong: to 1.6 %
APART = 0.10  # metres along the skin; triangles that cross and are farther apart belong to two parts of the body


@dataclass(frozen=True)
class Tangle:
    """Triangles turned over, and pairs of triangles that cross.

    Attributes:
        folded: Turned over, (F,).
        crossing: Pairs that cross, (P, 2).
    """

    folded: Bool[np.ndarray, " F"]
    crossing: Pairs

    def count(self, fault: str) -> int:
        """How many are `folded` or `crossing`."""
        return int(self.folded.sum()) if fault == "folded" else len(self.crossing)

    def beyond(self, *others: "Tangle") -> "Tangle":
        """The part of this tangle that none of the others has."""
        turned, count = self.folded.copy(), len(self.folded)
        known = np.zeros(0, dtype=np.int64)
        for other in others:
            turned &= ~other.folded
            known = np.union1d(known, _codes(other.crossing, count))
        return Tangle(turned, self.crossing[~np.isin(_codes(self.crossing, count), known)])


Ends = dict[float, Tangle]
"""The tangle at each weight of a morph."""


def tangle_of(tree: Tree, points: BodyPoints) -> Tangle:
    """Triangles that are turned over or cross on a shape; exact for crossings."""
    return Tangle(folded(points, tree.faces), tree_self_crossings(tree.refit(points)))


def sound_share(tree: Tree, deltas: Float[np.ndarray, "B 3"], fault: str, known: tuple[Tangle, ...]) -> float:
    """The largest share of a displacement, 0 to 1, without new folds or crossings; found by halving."""
    sound, broken = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (sound + broken)
        if tangle_of(tree, tree.vertices + middle * deltas).beyond(*known).count(fault):
            broken = middle
        else:
            sound = middle
    return sound


def meets_across(skin: AuditedSkin, pair: Int[np.ndarray, "2"]) -> bool:
    """Whether two triangles lie on parts of the body that are far apart along the skin: an arm and the trunk, say."""
    first, second = skin.faces[pair[0]], skin.faces[pair[1]]
    return not bool(skin.reached(first, APART)[second].any())


def _codes(pairs: Pairs, count: int) -> Int[np.ndarray, " P"]:
    """One number per pair."""
    return pairs[:, 0] * count + pairs[:, 1]
