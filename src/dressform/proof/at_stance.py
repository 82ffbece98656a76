"""Certificates at stances: at each, cloth is proven to keep off the skin under it at every shape of the range."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance
from dressform.errors import MatchError
from dressform.fit.contact import closed
from dressform.fit.fit import Fit
from dressform.fit.posed import posing_of
from dressform.lift.feet import Feet, find_feet
from dressform.mesh.nearest import Closest, signed_clearance
from dressform.proof.certificate import bounds_of, touching_faces
from dressform.proof.decision import Decision
from dressform.proof.folds import folded_faces
from dressform.proof.linear_mesh import LinearMesh, linear_body, linear_cloth, posed
from dressform.proof.pairs import near_pairs
from dressform.proof.posed_slack import posed_slack
from dressform.proof.shape_contact import PIECES, Contacts, PairFates, contacts_of, fates_of


@dataclass(frozen=True, eq=False)
class StanceCertificate(Decision):
    """What is proven of a fit at one stance, of cloth and the skin under it, over the whole range of shapes.

    Attributes:
        stance: The stance.
        sunk: Cloth faces with a corner under their own skin at the base, (F,); their pairs are open.
        contacts: Near pairs that were left out.
    """

    stance: Stance
    sunk: Bool[np.ndarray, " F"]
    contacts: Contacts

    @property
    def share(self) -> float:
        """Share of the near pairs with own skin that is certified; 1 where there are none and no cloth is sunk."""
        return self.share_of(of_nothing=float(not self.sunk.any()))

    @property
    def complete(self) -> bool:
        """Whether every pair with own skin is certified and no cloth is under it."""
        return bool(self.certified.all()) and not self.sunk.any()


@dataclass(frozen=True, eq=False)
class StanceCase:
    """What the certificates of one fit at all its stances share.

    Attributes:
        fit: The fit.
        body: Its body as a moving mesh, at rest.
        box: The range, the base body included.
        excluded: Cloth faces that touch the body at the base, at rest: the certificate at rest names them, (F,).

    Raises:
        MatchError: body or fit has no joints or no joint weights.
    """

    fit: Fit
    body: LinearMesh
    box: Range
    excluded: Bool[np.ndarray, " F"]

    def __post_init__(self) -> None:
        if self.fit.skin is None or self.fit.body.skin is None or self.fit.body.skeleton is None:
            raise MatchError(
                f"StanceCase: `fit` must have joint weights, as must its body, got {self.fit.garment.name!r} on "
                f"{self.fit.body.name!r} without. Without joints there is only the rest pose."
            )

    @property
    def skins(self) -> tuple[Skin, Skin, Skeleton]:
        """Joint weights of cloth and body, and the joints."""
        assert self.fit.skin is not None
        assert self.fit.body.skin is not None
        assert self.fit.body.skeleton is not None
        return self.fit.skin, self.fit.body.skin, self.fit.body.skeleton

    @cached_property
    def cloth(self) -> LinearMesh:
        """The fit as a moving mesh, at rest."""
        return linear_cloth(self.fit)

    @cached_property
    def feet(self) -> Feet:
        """Where the cloth stands at rest."""
        return find_feet(self.body.tree, self.fit.base, self.fit.garment.faces)

    def posed_at(self, stance: Stance) -> "PosedPair":
        """Cloth and body at a stance."""
        cloth_skin, body_skin, skeleton = self.skins
        posing, moves = posing_of(self.fit, stance), self.fit.body.joint_moves
        body = posed(self.body, posing.body, posing.body_offsets)
        slack = posed_slack(self.cloth, self.box, cloth_skin, skeleton, stance, moves, self.fit.correctives)
        slack += posed_slack(self.body, self.box, body_skin, skeleton, stance, moves)
        cloth = posed(self.cloth, posing.cloth, posing.cloth_offsets)
        return PosedPair(self, stance, posing.cloth, posing.body, cloth, body, slack, posing.cloth_offsets)


@dataclass(frozen=True, eq=False)
class PosedPair:
    """Cloth and body at one stance, as moving meshes.

    Attributes:
        case: What all stances share.
        stance: The stance.
        maps: The affine map of each cloth vertex, what correctives add there included, (G, 3, 4).
        body_maps: The affine map of each body vertex, (B, 3, 4).
        cloth: The cloth at the stance.
        body: The body at the stance.
        slack: Bound of the rounding of both in float32, metres.
        offsets: What each morph adds to the cloth because joints follow it, (K, G, 3), or None where they stay.
    """

    case: StanceCase
    stance: Stance
    maps: Float[np.ndarray, "G 3 4"]
    body_maps: Float[np.ndarray, "B 3 4"]
    cloth: LinearMesh
    body: LinearMesh
    slack: float
    offsets: Float[np.ndarray, "K G 3"] | None = None

    def carried(self, cloth: LinearMesh) -> LinearMesh:
        """A cloth at rest, with the joint weights of this one, at the stance."""
        return posed(cloth, self.maps, self.offsets)

    @property
    def folded(self) -> Bool[np.ndarray, " B"]:
        """Body faces that are folded over at the base, (B,)."""
        return self._folds[0]

    @property
    def folding(self) -> Bool[np.ndarray, " B"]:
        """Body faces that are so on some shape beside, (B,)."""
        return self._folds[1]

    @cached_property
    def _folds(self) -> tuple[Bool[np.ndarray, " B"], Bool[np.ndarray, " B"]]:
        return folded_faces(self.case.body, self.body, self.body_maps, self.case.box)

    def near(self, cloth: LinearMesh, *, margin: float) -> Int[np.ndarray, "P 2"]:
        """Near pairs of the cloth (as it is now) and the body; cloth that touches it at rest is left out."""
        pairs = near_pairs(cloth, self.body, self.case.box, margin=margin)
        return pairs[~self.case.excluded[pairs[:, 0]]]

    def fates(
        self,
        cloth: LinearMesh,
        pairs: Int[np.ndarray, "P 2"],
        needed: Float[np.ndarray, " P"],
        *,
        under: Bool[np.ndarray, " F"] | None = None,
        budget: int = PIECES,
    ) -> PairFates:
        """Where over the range the cloth (as it is now) keeps what each pair needs, and where it is contact instead.

        Of faces `under` their own skin nothing is certified.
        """
        provable = np.full(len(pairs), True) if under is None else ~under[pairs[:, 0]]
        return fates_of(self, cloth, pairs, needed, provable, budget)

    def closes_at(self, vertices: Int[np.ndarray, " N"], faces: Int[np.ndarray, " N"]) -> Bool[np.ndarray, " N"]:
        """Whether the stance closes body faces with the skin at the feet of cloth vertices, at the base, (N,)."""
        case, feet = self.case, self.case.feet
        on = (feet.faces[vertices], feet.barycentric[vertices])
        return closed(case.body.tree.vertices, self.body.tree.vertices, self.body.faces, on, faces)

    def heights(self, cloth: LinearMesh) -> tuple[Float[np.ndarray, " G"], Closest]:
        """Signed distance of the cloth (as it is now) from its own skin at the base, (G,), and the closest points.

        Where the stance brought the closest near, the height over the plane at the foot instead.
        """
        feet = self.case.feet
        signed, found = signed_clearance(self.body.tree, cloth.tree.vertices)
        across = np.flatnonzero(self.closes_at(np.arange(len(signed)), found.faces))
        skin = self.body.tree.vertices[self.body.faces[feet.faces[across]]]
        foot = np.einsum("qc,qcx->qx", feet.barycentric[across], skin)
        up = self.body.tree.pseudonormals[2][feet.faces[across]]
        signed[across] = np.einsum("qx,qx->q", cloth.tree.vertices[across] - foot, up)
        at_foot = (foot, feet.faces[across], feet.barycentric[across], np.abs(signed[across]))
        for whole, part in zip((found.points, found.faces, found.barycentric, found.distances), at_foot):
            whole[across] = part
        return signed, found

    @cached_property
    def sunk(self) -> Bool[np.ndarray, " F"]:
        """Cloth faces with a corner under their own skin at the base, (F,), where nothing is folded or left out."""
        faces = self.case.fit.garment.faces
        signed, _ = self.heights(self.cloth)
        usable = ~self.folded[self.case.feet.faces[faces]].any(axis=1) & ~self.case.excluded
        return (signed[faces] <= 0).any(axis=1) & usable


def certify_stances(
    fit: Fit,
    stances: Sequence[Stance],
    *,
    margin: float = 0.0,
    obstacle: LinearMesh | None = None,
    budget: int = PIECES,
) -> tuple[StanceCertificate, ...]:
    """Prove, stance by stance, that cloth keeps `margin` from the skin under it at every weight of the range.

    At a fixed stance every vertex is carried by one affine map that no weight changes. So the posed meshes are affine
    in the weights, and the bound of the proof at rest holds for them as it stands. Claimed is: no triangle of the
    cloth comes nearer than `margin` to its own skin, and what is above that skin at the base stays above. Skin that
    the stance brings near from another part of the body, and skin that blending folds over, are contact: left out and
    counted. Left out as well are faces that touch the body at rest, at the base.

    Args:
        fit: The fit; it and its body have joint weights.
        stances: The stances.
        margin: Gap to prove, metres.
        obstacle: The body as a moving mesh if it is at hand.
        budget: Pieces of the range for one pair.

    Raises:
        MatchError: fit or body has no joint weights, or a stance belongs to another skeleton.

    Proof: tests/proof/test_stance_proof.py::test_no_shape_violates_a_pair_that_is_certified_at_a_stance
    """
    if not stances:
        return ()
    case = stance_case(fit, obstacle)
    return tuple(certify_posed(case.posed_at(stance), margin=margin, budget=budget) for stance in stances)


def stance_case(fit: Fit, obstacle: LinearMesh | None = None) -> StanceCase:
    """A fit prepared for stances; see `StanceCase`."""
    body = linear_body(fit.body) if obstacle is None else obstacle
    return StanceCase(fit, body, fit.body.range.with_base(), touching_faces(linear_cloth(fit), body))


def certify_posed(pair: PosedPair, *, margin: float = 0.0, budget: int = PIECES) -> StanceCertificate:
    """The certificate at one stance; arguments are those of `certify_stances`."""
    needed = margin + pair.slack
    pairs = pair.near(pair.cloth, margin=needed)
    bounds, _ = bounds_of(pair.cloth, pair.body, pairs, pair.case.box, enough=needed)
    sunk = pair.sunk[pairs[:, 0]]
    certified, split, left = ~sunk & (bounds >= needed), np.zeros(len(pairs), dtype=bool), np.full(len(pairs), True)
    hard = np.flatnonzero(~certified)
    fates = pair.fates(pair.cloth, pairs[hard], np.full(len(hard), needed), under=pair.sunk, budget=budget)
    split[hard], left[hard] = fates.clear, ~fates.contact
    contacts = contacts_of(pair, pairs[hard], fates)
    return StanceCertificate(
        margin, pair.slack, pairs[left], bounds[left], (certified | split)[left], split[left], pair.stance, pair.sunk,
        contacts,
    )  # fmt: skip
