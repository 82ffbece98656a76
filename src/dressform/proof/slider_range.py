"""Certificates over whole intervals of sliders that move joints: at every shape and at every value of the sliders."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.stance import Stance
from dressform.body.stances.slider_ends import is_affine
from dressform.body.stances.sliders import JointSlider, slid_worlds
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.proof.at_stance import PosedPair, StanceCase, stance_case
from dressform.proof.bound_kernels import pair_bounds
from dressform.proof.clip import SPLIT_PIECES, UNDER_REACH
from dressform.proof.driven import driven_strays
from dressform.proof.linear_mesh import LinearMesh
from dressform.proof.pairs import near_pairs
from dressform.proof.slider_bends import Interval, SliderBends, slider_bends, turned_by
from dressform.proof.speed_kernels import pair_bends

MOST_HALVINGS = 5
"""Times that an interval is halved before what is left in it is open."""
MOST_DIVISIONS = 6
"""Times that the range of shapes is halved for a pair that no one direction serves."""
MOST_SLIDERS = 6
"""Sliders of one certificate; every piece has two corners for each."""
WIDEST_TURN = 0.6
"""A piece in which a joint turns farther is divided at once, radians: so the slack of corners holds between them."""
BETWEEN_CORNERS = 1.05
"""Rounding between the corners of a piece is at most this many times that at them, where no joint turns farther."""

Piece = Mapping[str, Interval]


@dataclass(frozen=True, eq=False)
class OpenPiece:
    """Values of sliders for which pairs are not certified.

    Attributes:
        values: Lowest and highest value of each slider, by name.
        pairs: Pairs that are open, (N, 2).
        contacts: How many beside are contact in the middle, and left out.
    """

    values: Piece
    pairs: Int[np.ndarray, "N 2"]
    contacts: int


@dataclass(frozen=True, eq=False)
class SliderCertificate:
    """What is proven of a fit over all values of sliders that move joints, in the modelled pose.

    Attributes:
        sliders: Their names.
        margin: The requested gap, metres.
        pairs: Pairs of cloth and skin under it that the proof had to decide, (P, 2).
        share: Share of the range of the sliders, over all pairs without contact, for which they are certified.
        contact_share: Share of it, over all pairs, that is left out as contact.
        open: The values for which pairs are not certified, or are contact.
        pieces: Pieces of the range that were looked at.
        exact: Whether positions are affine in every slider, so that corners alone decide.
    """

    sliders: tuple[str, ...]
    margin: float
    pairs: Int[np.ndarray, "P 2"]
    share: float
    contact_share: float
    open: tuple[OpenPiece, ...]
    pieces: int
    exact: bool

    @property
    def complete(self) -> bool:
        """Whether every pair is certified at every value of the sliders, contact apart."""
        return self.share == 1.0


@dataclass(frozen=True, eq=False)
class _Sliding:
    """What all pieces share."""

    case: StanceCase
    sliders: tuple[JointSlider, ...]
    pairs: Int[np.ndarray, "P 2"]
    radius: Float[np.ndarray, "G J"]
    margin: float

    def at(self, values: Mapping[str, float]) -> PosedPair:
        """Cloth and body at values of the sliders."""
        return self.case.posed_at(Stance("", slid_worlds(self.case.skins[2], self.sliders, values)))

    def look(
        self, piece: Piece, asked: Int[np.ndarray, " N"], *, last: bool
    ) -> tuple[Int[np.ndarray, " M"], int, SliderBends]:
        """Which of the pairs are not certified in a piece, how many more of them are contact, and what bends there."""
        skeleton = self.case.skins[2]
        bends = slider_bends(skeleton, self.sliders, piece)
        middle = self.at({name: 0.5 * (low + high) for name, (low, high) in piece.items()})
        corners = [self.at(dict(zip(piece, values))) for values in product(*piece.values())]
        slack = BETWEEN_CORNERS * max(one.slack for one in (middle, *corners))
        turns = np.array([turned_by(self.sliders, piece, joint) for joint in range(len(skeleton.names))])
        pairs = self.pairs[asked]
        needed = self.margin + slack + self._bent(bends, pairs)
        if self.case.fit.correctives:
            count, worlds = len(self.case.fit.base), middle.stance.worlds
            driven = driven_strays(self.case.fit.correctives, skeleton, worlds, turns, count)
            needed += 2 * driven[self.case.fit.garment.faces[pairs[:, 0]]].max(axis=1)
        under = self._under(middle)
        left = under[pairs[:, 0]] | (2 * turns.max(initial=0.0) > WIDEST_TURN)
        trying = np.flatnonzero(~left)
        ends = (self.case.box.low, self.case.box.high)
        depth = MOST_DIVISIONS if last or not self._bent(bends, pairs).any() else 0
        left[trying] = ~self._clear(middle, corners, pairs[trying], needed[trying], ends, depth)
        open_, contacts = asked[left], 0
        if last and len(open_):
            fates = middle.fates(middle.cloth, self.pairs[open_], needed[left], under=under, budget=SPLIT_PIECES)
            contact = fates.contact
            open_, contacts = open_[~contact], int(contact.sum())
        return open_, contacts, bends

    def _bent(self, bends: SliderBends, pairs: Int[np.ndarray, "N 2"]) -> Float[np.ndarray, " N"]:
        """How far the gap of each pair can fall below that at the corners, (N,), metres; 0 where sliders are affine."""
        if not bends.linear.any() and not bends.place.any():
            return np.zeros(len(pairs))
        case, (cloth_skin, body_skin, skeleton) = self.case, self.case.skins
        reach = np.concatenate([[1.0], np.maximum(np.abs(case.box.low), np.abs(case.box.high))])
        turn = bends.linear * np.linalg.norm(skeleton.inverse_bind[:, :3, :3], 2, axis=(1, 2))
        found: Float[np.ndarray, " N"] = pair_bends(
            pairs, case.cloth.faces, case.body.faces, case.cloth.terms, case.body.terms, cloth_skin.joints,
            cloth_skin.weights, body_skin.joints, body_skin.weights, reach, turn,
            self.radius * bends.linear + bends.place,
        )  # fmt: skip
        return found

    def _under(self, here: PosedPair) -> Bool[np.ndarray, " F"]:
        signed, _ = here.heights(here.cloth)
        return (signed[self.case.fit.garment.faces] <= 0).any(axis=1)

    def _clear(
        self,
        middle: PosedPair,
        corners: Sequence[PosedPair],
        pairs: Int[np.ndarray, "N 2"],
        needed: Float[np.ndarray, " N"],
        ends: tuple[Float[np.ndarray, " K"], Float[np.ndarray, " K"]],
        depth: int,
    ) -> Bool[np.ndarray, " N"]:
        """Which pairs keep what is needed at every corner along one direction, in every part of the range, (N,).

        Where no direction serves the whole range of shapes, it is halved along the morph that costs the pair most.
        """
        low, high = ends
        _, directions = pair_bounds(
            middle.cloth.terms, middle.cloth.faces, middle.body.terms, middle.body.faces, pairs, low, high,
            0.5 * (low + high), needed,
        )  # fmt: skip
        clear = np.full(len(pairs), True)
        costs = np.zeros((len(pairs), len(low)))
        for corner in corners:
            gaps, cost = _gaps(corner, pairs, directions, low, high)
            clear &= gaps >= needed
            costs = np.maximum(costs, cost)
        if depth == 0 or clear.all() or not len(low):
            return clear
        hard = np.flatnonzero(~clear)
        dearest = np.argmax(costs[hard], axis=1)
        for morph in np.unique(dearest):
            some, halfway = hard[dearest == morph], 0.5 * (low[morph] + high[morph])
            upper, lower = low.copy(), high.copy()
            upper[morph], lower[morph] = halfway, halfway
            clear[some] = self._clear(middle, corners, pairs[some], needed[some], (low, lower), depth - 1)
            some = some[clear[some]]
            clear[some] = self._clear(middle, corners, pairs[some], needed[some], (upper, high), depth - 1)
        return clear


def _gaps(
    here: PosedPair,
    pairs: Int[np.ndarray, "N 2"],
    directions: Float[np.ndarray, "N 3"],
    low: Float[np.ndarray, " K"],
    high: Float[np.ndarray, " K"],
) -> tuple[Float[np.ndarray, " N"], Float[np.ndarray, "N K"]]:
    """Least gap of each pair along its direction over a part of the range, (N,), and what each morph's width costs."""
    cloth, body = (
        np.einsum("ncmx,nx->ncm", mesh.terms[mesh.faces[pairs[:, side]]], directions)
        for side, mesh in enumerate((here.cloth, here.body))
    )
    gaps, costs = np.full(len(pairs), np.inf), np.zeros((len(pairs), len(low)))
    for i, j in product(range(3), range(3)):
        terms = cloth[:, i] - body[:, j]
        least = terms[:, 0] + np.minimum(low * terms[:, 1:], high * terms[:, 1:]).sum(axis=1)
        costs = np.maximum(costs, (high - low) * np.abs(terms[:, 1:]))
        gaps = np.minimum(gaps, least)
    return gaps, costs


def certify_sliders(
    fit: Fit,
    sliders: Sequence[JointSlider],
    *,
    margin: float = 0.0,
    halvings: int = MOST_HALVINGS,
    obstacle: LinearMesh | None = None,
) -> SliderCertificate:
    """Prove that cloth keeps `margin` from the skin under it at every shape and every value of sliders of joints.

    For a fixed direction the gap of a pair is affine in the weights of the morphs. Where each slider scales or moves
    one node of every chain it is affine in each slider too, so it is least at a corner, and corners are exact. Else it
    lies above what the corners of a piece give by less than Σ h² / 8 times the second derivatives, which are bounded
    along the chains. A pair whose gap at all corners, along one direction, exceeds that keeps `margin` in the whole
    piece; else the piece is halved along the slider that bends most. Sliders are divided at 0, where their sides meet.
    Pairs are those of the proof between the moments of an animation, contact is told apart likewise.

    Args:
        fit: The fit; it and its body have joint weights.
        sliders: Sliders of its body's joints, at most six, none of them an animation: those are proven as animations.
        margin: Gap to prove, metres.
        halvings: Times that an interval is halved.
        obstacle: The body as a moving mesh if it is at hand.

    Raises:
        MatchError: fit or body has no joint weights.
        ArgumentError: there is no slider, there are too many, or one plays an animation; or one bends positions where
            joints follow morphs, which the bound of that bend leaves out.

    Source: branch and bound; interpolation by corners. Proof: tests/proof/test_slider_proof.py
    """
    playing = next((one.name for one in sliders if one.animation is not None), None)
    if not 0 < len(sliders) <= MOST_SLIDERS or playing is not None:
        rule = f"one to {MOST_SLIDERS} sliders that play no animation"
        observed = f"{playing!r}, which does" if playing is not None else str(len(sliders))
        raise ArgumentError.of("certify_sliders", "sliders", rule, observed, "Prove animations by `certify_clip`")
    body = fit.body
    if body.joint_moves is not None and body.joint_moves.any() and body.skeleton is not None:
        bending = next((one.name for one in sliders if not is_affine(body.skeleton, one)), None)
        if bending is not None:
            rule = "of one node of any chain each, unturned, where joints follow morphs"
            raise ArgumentError.of("certify_sliders", "sliders", rule, repr(bending), "Prove at stances instead")
    case = stance_case(fit, obstacle)
    pairs = near_pairs(case.cloth, case.body, case.box, margin=UNDER_REACH)
    sliding = _Sliding(case, tuple(sliders), pairs[~case.excluded[pairs[:, 0]]], _radius(case), margin)
    found, pieces, exact, open_, contact = [], 0, True, 0.0, 0.0
    whole = float(np.prod([one.high - one.low for one in sliders])) * len(sliding.pairs)
    for piece, bends in _divided(sliding, halvings):
        pieces, exact = pieces + 1, exact and not bends.linear.any() and not bends.place.any()
        size = float(np.prod([high - low for low, high in piece.values.values()]))
        open_, contact = open_ + size * len(piece.pairs), contact + size * piece.contacts
        if len(piece.pairs) or piece.contacts:
            found.append(piece)
    sure = 1.0 - open_ / (whole - contact) if open_ else 1.0
    names = tuple(one.name for one in sliders)
    share = contact / whole if whole else 0.0
    return SliderCertificate(names, margin, sliding.pairs, sure, share, tuple(found), pieces, exact)


def _divided(sliding: _Sliding, halvings: int) -> Iterator[tuple[OpenPiece, SliderBends]]:
    """The pieces of the range, each with what is open in it; those with nothing left count too."""
    sides = [[(low, high) for low, high in ((one.low, 0.0), (0.0, one.high)) if low < high] for one in sliding.sliders]
    names = [one.name for one in sliding.sliders]
    everything = np.arange(len(sliding.pairs))
    waiting = [(dict(zip(names, side)), everything, halvings) for side in product(*sides)]
    while waiting:
        piece, asked, left = waiting.pop()
        open_, contacts, bends = sliding.look(piece, asked, last=left == 0)
        if left == 0 or len(open_) == 0:
            yield OpenPiece(piece, sliding.pairs[open_], contacts), bends
            continue
        widest = max(piece, key=lambda name: (bends.by_slider[name], piece[name][1] - piece[name][0]))
        low, high = piece[widest]
        middle = 0.5 * (low + high)
        waiting += [({**piece, widest: half}, open_, left - 1) for half in ((low, middle), (middle, high))]


def _radius(case: StanceCase) -> Float[np.ndarray, "G J"]:
    """The farthest that each cloth vertex lies from each joint at rest, over the range, (G, J), in the joint's axes."""
    bind = case.skins[2].inverse_bind
    targets = [one.delta for one in case.fit.correctives]
    reach = np.concatenate([[1.0], np.maximum(np.abs(case.box.low), np.abs(case.box.high)), np.ones(len(targets))])
    terms = np.concatenate([case.cloth.terms, *(one[:, None] for one in targets)], axis=1)
    seen = np.einsum("jxy,gmy->gjmx", bind[:, :3, :3], terms)
    seen[:, :, 0] += bind[:, :3, 3]
    found: Float[np.ndarray, "G J"] = np.einsum("m,gjm->gj", reach, np.linalg.norm(seen, axis=3))
    return found
