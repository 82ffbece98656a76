"""Certificates between the moments of an animation: at every shape and at every instant."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.body.pose import Animation
from dressform.body.stance import Stance
from dressform.fit.fit import Fit
from dressform.proof.at_stance import StanceCase, stance_case
from dressform.proof.certificate import bounds_of
from dressform.proof.driven import driven_strays
from dressform.proof.joint_speeds import JointSpeeds, joint_speeds
from dressform.proof.linear_mesh import LinearMesh
from dressform.proof.pairs import near_pairs
from dressform.proof.speed_kernels import pair_speeds
from dressform.proof.split_kernels import split_bounds

UNDER_REACH = 0.02
"""Skin under the cloth is what comes this near to it at rest, on some shape, metres."""
SPLIT_PIECES = 40
"""Pieces of the range for a pair that is open in one of the shortest intervals."""
MOST_HALVINGS = 5
"""Times that the time between two keys is halved."""


@dataclass(frozen=True)
class OpenInterval:
    """A time for which pairs are not certified.

    Attributes:
        start: From when, seconds.
        end: Until when, seconds.
        pairs: Pairs that are open, (N, 2).
        contacts: How many beside are contact in its middle, and left out.
        bounded: Whether the speed of the joints has a bound there; else nothing was tried.
    """

    start: float
    end: float
    pairs: Int[np.ndarray, "N 2"]
    contacts: int
    bounded: bool = True


@dataclass(frozen=True)
class ClipCertificate:
    """What is proven of a fit over a whole animation.

    Attributes:
        name: The animation.
        duration: Its length, seconds.
        margin: The requested gap, metres.
        pairs: Pairs of cloth and skin under it that the proof had to decide, (P, 2).
        share: Share of the time, over all pairs without contact, for which they are certified.
        contact_share: Share of the time, over all pairs, that is left out as contact.
        open: The times for which pairs are not certified, or are contact, in order.
        pieces: Intervals of time that were looked at.
    """

    name: str
    duration: float
    margin: float
    pairs: Int[np.ndarray, "P 2"]
    share: float
    contact_share: float
    open: tuple[OpenInterval, ...]
    pieces: int

    @property
    def complete(self) -> bool:
        """Whether every pair is certified at every instant, contact apart."""
        return self.share == 1.0


@dataclass(frozen=True, eq=False)
class _Clip:
    """What all intervals share."""

    case: StanceCase
    animation: Animation
    pairs: Int[np.ndarray, "P 2"]
    margin: float

    def speeds(self, joints: JointSpeeds, start: float) -> Float[np.ndarray, " P"]:
        """How fast each pair can close, (P,), metres a second; `start` is the key at which the interval begins."""
        case, (cloth_skin, body_skin, skeleton) = self.case, self.case.skins
        reach = np.concatenate([[1.0], np.maximum(np.abs(case.box.low), np.abs(case.box.high))])
        bind, worlds = skeleton.inverse_bind, self.animation.worlds(start)
        sizes = np.linalg.norm(worlds[:, :3, :3], 2, axis=(1, 2))
        stretch = np.linalg.norm(worlds[:, :3, :3] @ bind[:, :3, :3], 2, axis=(1, 2)).max()
        targets = [one.delta for one in case.fit.correctives]  # like morphs whose weights go from 0 to 1
        reach = np.concatenate([reach, np.ones(len(targets))])
        cloth, body = (
            _widened(mesh.terms, added) for mesh, added in ((case.cloth, targets), (case.body, len(targets)))
        )
        terms = np.einsum("jxy,gmy->gjmx", bind[:, :3, :3], cloth)
        terms[:, :, 0] += bind[:, :3, 3]
        radius = sizes * np.einsum("m,gjm->gj", reach, np.linalg.norm(terms, axis=3))
        return pair_speeds(
            self.pairs, case.cloth.faces, case.body.faces, cloth, body, cloth_skin.joints,
            cloth_skin.weights, body_skin.joints, body_skin.weights, stretch * reach, joints.turning, joints.moving,
            radius,
        )  # fmt: skip

    def look(
        self,
        start: float,
        end: float,
        asked: Int[np.ndarray, " N"],
        speeds: Float[np.ndarray, " P"],
        turning: Float[np.ndarray, "J J"],
        *,
        last: bool,
    ) -> tuple[Int[np.ndarray, " M"], int]:
        """Which of the pairs are not certified from `start` to `end`, and how many more of them are contact."""
        middle, pairs = 0.5 * (start + end), self.pairs[asked]
        here = self.case.posed_at(Stance(f"{middle:.3f} s", self.animation.worlds(middle)))
        needed = self.margin + here.slack + 0.5 * (end - start) * speeds[asked]
        if self.case.fit.correctives:
            skeleton, count = self.case.skins[2], len(self.case.fit.base)
            each = 0.5 * (end - start) * turning[np.arange(len(turning)), skeleton.parents]
            driven = driven_strays(self.case.fit.correctives, skeleton, here.stance.worlds, each, count)
            needed += driven[self.case.fit.garment.faces[pairs[:, 0]]].max(axis=1)
        bounds, _ = bounds_of(here.cloth, here.body, pairs, self.case.box, enough=needed)
        signed, _ = here.heights(here.cloth)
        under = (signed[self.case.fit.garment.faces] <= 0).any(axis=1)
        left = (bounds < needed) | under[pairs[:, 0]]
        if last:
            hard = np.flatnonzero(left & ~under[pairs[:, 0]])
            left[hard] = ~split_bounds(
                here.cloth.terms, here.cloth.faces, here.body.terms, here.body.faces, pairs[hard],
                self.case.box.low, self.case.box.high, needed[hard], SPLIT_PIECES,
            )[0]  # fmt: skip
        open_, contacts = asked[left], 0
        if last and len(open_):
            fates = here.fates(here.cloth, self.pairs[open_], needed[left], under=under, budget=SPLIT_PIECES)
            contact = fates.contact
            open_, contacts = open_[~contact], int(contact.sum())
        return open_, contacts


def _widened(terms: Float[np.ndarray, "V M 3"], added: Sequence[Float[np.ndarray, "V 3"]] | int) -> Any:
    """Terms with some more behind them, or with so many that move nothing, (V, M + N, 3)."""
    more = np.zeros((len(terms), added, 3)) if isinstance(added, int) else [one[:, None] for one in added]
    return np.ascontiguousarray(np.concatenate([terms, more] if isinstance(added, int) else [terms, *more], axis=1))


def certify_clip(
    fit: Fit,
    animation: Animation,
    *,
    margin: float = 0.0,
    halvings: int = MOST_HALVINGS,
    obstacle: LinearMesh | None = None,
) -> ClipCertificate:
    """Prove that cloth keeps `margin` from the skin under it at every shape and at every instant of an animation.

    Seen from the joint that carries most of both, two triangles near each other move slowly. So a pair that keeps
    enough room in the middle of an interval, along one direction that rides on that joint, keeps `margin` in all of it:
    enough is what the pair can close until the interval's ends. Intervals are halved until it is, the keys of the
    animation being ends. What is above the skin in the middle stays above. The skin under a triangle is what comes
    within 2 cm of it at rest on some shape; of other skin nothing is claimed. Contact is told apart in the middle of
    the last intervals. Where joints follow morphs no bound of their speeds is known, and all of the time is open.

    Args:
        fit: The fit; it and its body have joint weights.
        animation: The animation, of the body's joints, interpolated as glTF asks.
        margin: Gap to prove, metres.
        halvings: Times that the time between two keys is halved.
        obstacle: The body as a moving mesh if it is at hand.

    Raises:
        MatchError: fit or body has no joint weights, or the animation moves another number of joints.

    Source: as conservative advancement, with the pair's own bound. Proof: tests/proof/test_clip.py
    """
    case = stance_case(fit, obstacle)
    pairs = near_pairs(case.cloth, case.body, case.box, margin=UNDER_REACH)
    clip = _Clip(case, animation, pairs[~case.excluded[pairs[:, 0]]], margin)
    follows = fit.body.joint_moves is not None and bool(fit.body.joint_moves.any())
    found: list[OpenInterval] = []
    pieces = 0
    for start, end in zip(animation.times[:-1].tolist(), animation.times[1:].tolist()):
        joints = None if follows else joint_speeds(animation, start, end)
        if joints is None:
            found.append(OpenInterval(start, end, clip.pairs, 0, bounded=False))
            continue
        for piece in _halved(clip, start, end, joints, halvings):
            pieces += 1
            if len(piece.pairs) or piece.contacts:
                found.append(piece)
    whole = max(animation.duration - float(animation.times[0]), 0.0) * len(clip.pairs)
    contact = sum((one.end - one.start) * one.contacts for one in found)
    still_open = sum((one.end - one.start) * len(one.pairs) for one in found)
    sure = 1.0 - still_open / (whole - contact) if whole > contact else float(still_open == 0)
    return ClipCertificate(
        animation.name, animation.duration, margin, clip.pairs, sure, contact / whole if whole else 0.0,
        tuple(found), pieces,
    )  # fmt: skip


def _halved(clip: _Clip, start: float, end: float, joints: JointSpeeds, halvings: int) -> Iterator[OpenInterval]:
    """The pieces of an interval between two keys, each with what is open in it; those with nothing left count too."""
    speeds, waiting = clip.speeds(joints, start), [(start, end, np.arange(len(clip.pairs)), halvings)]
    while waiting:
        first, last, asked, left = waiting.pop()
        open_, contacts = clip.look(first, last, asked, speeds, joints.turning, last=left == 0)
        if left == 0 or len(open_) == 0:
            yield OpenInterval(first, last, clip.pairs[open_], contacts)
            continue
        middle = 0.5 * (first + last)
        waiting += [(middle, last, open_, left - 1), (first, middle, open_, left - 1)]
