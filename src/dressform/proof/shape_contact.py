"""Contact decided shape by shape: a pair is left out only on shapes on which a stance closes or folds the skin."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.fit.contact import blended_maps
from dressform.proof.contact_kernels import CERTIFIED, CONTACT, FOLDED, decide
from dressform.proof.linear_mesh import LinearMesh

if TYPE_CHECKING:
    from dressform.proof.at_stance import PosedPair

PIECES = 60
"""Pieces of the range looked at for one pair at a stance before it is open."""


@dataclass(frozen=True)
class Contacts:
    """Near pairs that keep clear wherever they are no contact, and are contact on some shapes: how many.

    Attributes:
        across: The stance brings that skin against the skin under the cloth: across a crease, or from another part of
            the body.
        folded: Blending folds the skin over there, at the base.
        folding: It does so on other shapes alone.
    """

    across: int = 0
    folded: int = 0
    folding: int = 0

    @property
    def total(self) -> int:
        """All of them."""
        return self.across + self.folded + self.folding


@dataclass(frozen=True, eq=False)
class PairFates:
    """What becomes of near pairs over the range.

    Attributes:
        clear: Whether each keeps its gap on every shape, (P,).
        contact: Whether it keeps it on every shape on which it is no contact, and may be contact on some, (P,).
        touches: Whether some of the shapes looked at is one on which it is too near and contact, (P,).
        folds: Whether that is so because blending folds the skin, (P,).
        shapes: Of a pair that is neither, a shape on which it comes too near and is no contact, or may be so, (P, K).
    """

    clear: Bool[np.ndarray, " P"]
    contact: Bool[np.ndarray, " P"]
    touches: Bool[np.ndarray, " P"]
    folds: Bool[np.ndarray, " P"]
    shapes: Float[np.ndarray, "P K"]

    @property
    def open(self) -> Bool[np.ndarray, " P"]:
        """Pairs that are neither, (P,)."""
        return ~self.clear & ~self.contact


def fates_of(
    pair: "PosedPair",
    cloth: LinearMesh,
    pairs: Int[np.ndarray, "P 2"],
    needed: Float[np.ndarray, " P"],
    provable: Bool[np.ndarray, " P"],
    budget: int,
) -> PairFates:
    """Decide, pair by pair, where over the range cloth keeps `needed`, and where it need not.

    The range is halved until in every piece one direction keeps the gap, or the pair is contact on every shape of the
    piece: the conditions of `fit/contact.py` are polynomials in the weights, bounded by affine forms. A pair is open
    where a shape shows it too near and no contact, or where `budget` pieces do not decide.

    Args:
        pair: Body and cloth at the stance.
        cloth: The cloth at the stance, as it is now.
        pairs: The pairs.
        needed: The gap each must keep, metres.
        provable: Whether a gap is proof of it; only contact excuses others, which lie under their own skin at the base.
        budget: Pieces of the range for one pair.

    Source: branch and bound; affine arithmetic [Stolfi2003]. Proof: tests/proof/test_shape_contact.py
    """
    case = pair.case
    status, kinds, shapes = decide(
        cloth.terms, cloth.faces, case.body.terms, pair.body.terms, case.body.faces,
        blended_maps(pair.body_maps, case.body.faces), pair.folded | pair.folding, case.feet.faces,
        case.feet.barycentric, pairs, case.box.low, case.box.high, needed, provable,
        budget,
    )  # fmt: skip
    return PairFates(status == CERTIFIED, status == CONTACT, kinds > 0, (kinds & FOLDED) > 0, shapes)


def contacts_of(pair: "PosedPair", pairs: Int[np.ndarray, "P 2"], fates: PairFates) -> Contacts:
    """How many pairs are contact, by what kind."""
    on = pair.case.feet.faces[pair.case.fit.garment.faces]
    at_base = pair.folded[pairs[:, 1]] | pair.folded[on].any(axis=1)[pairs[:, 0]]
    folds = fates.contact & fates.folds
    return Contacts(
        int((fates.contact & ~fates.folds).sum()), int((folds & at_base).sum()), int((folds & ~at_base).sum())
    )
