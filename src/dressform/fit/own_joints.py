"""The joints of a garment's own file as joints of the body: matched by name."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.body.skeleton import Skeleton
from dressform.garment.own_joints import NO_JOINT, OwnJoints

ENOUGH = 0.5
"""Own weights are used where joints of the body's names carry at least this share of them."""
NAMED = 5
"""So many joints are named in a note; of more the number is told."""


@dataclass(frozen=True)
class MatchedJoints:
    """A garment's own joint weights on the joints of a body.

    Attributes:
        dense: Weight of each joint of the body, (G, J). Rows sum to 1, or to 0 where no joint of the body is known.
        share: Share of the weight that is on joints with a name of the body's, 0 to 1.
        moved: Names of joints that the body lacks, and the body's joint that takes their weight.
        lost: Names of joints that the body lacks, with no joint of the body's above them.
        hangs: Whether the garment hangs on joints as a whole.
    """

    dense: Float[np.ndarray, "G J"]
    share: float
    moved: tuple[tuple[str, str], ...]
    lost: tuple[str, ...]
    hangs: bool

    @property
    def is_usable(self) -> bool:
        """Whether these are weights for this body at all."""
        return self.share >= ENOUGH


def match_joints(own: OwnJoints, skeleton: Skeleton) -> MatchedJoints:
    """A garment's own joint weights on a body's joints, by name.

    Names are equal letter for letter, or else but for case and for what stands before the last `:` or `|`. The weight
    of a joint that the body lacks goes to the nearest joint above it that the body has; without one, the vertex's other
    joints take it. A garment that hangs on a node counts as of the nearest joint above it, but never as of a root: a
    node named as the root of the body only says where the file begins.

    Proof: tests/fit/test_own_joints.py
    """
    place = _places(own, skeleton)
    weights = own.dense()
    used = np.flatnonzero(weights.sum(axis=0) > 0)
    target = place.copy()
    for joint in used:
        above = int(joint)
        while above != NO_JOINT and place[above] == NO_JOINT:
            above = int(own.parents[above])
        target[joint] = NO_JOINT if above == NO_JOINT else place[above]
    if own.hangs:
        target[(target != NO_JOINT) & (skeleton.parents[target] < 0)] = NO_JOINT
        place = target
    dense = np.zeros((len(weights), len(skeleton.names)))
    for joint in used[target[used] != NO_JOINT]:
        dense[:, target[joint]] += weights[:, joint]
    total = float(weights.sum())
    known = float(weights[:, used[place[used] != NO_JOINT]].sum())
    sums = dense.sum(axis=1, keepdims=True)
    return MatchedJoints(
        np.divide(dense, sums, out=np.zeros_like(dense), where=sums > 0),
        known / total if total > 0 else 0.0,
        tuple((own.names[one], skeleton.names[target[one]]) for one in used if place[one] < 0 <= target[one]),
        tuple(own.names[one] for one in used if target[one] == NO_JOINT),
        own.hangs,
    )


def matching_notes(matched: MatchedJoints, skeleton: Skeleton) -> tuple[str, ...]:
    """What a reader must know of a garment's own weights that are used."""
    notes = []
    loose = int((matched.dense.sum(axis=1) == 0).sum())
    if matched.hangs:
        joints = [skeleton.names[joint] for joint in np.flatnonzero(matched.dense.any(axis=0))]
        notes.append(f"It hangs on {' and '.join(joints)} in its file and follows that joint wholly.")
    else:
        notes.append("Its own joint weights are kept: its file has them for the body's joints, matched by name.")
    if matched.moved:
        told = ", ".join(f"{name} (now {joint})" for name, joint in matched.moved[:NAMED])
        more = _more(matched.moved)
        notes.append(f"Joints that the body lacks give their weight to the joint above: {told}{more}.")
    if matched.lost and not matched.hangs:
        told = ", ".join(matched.lost[:NAMED])
        notes.append(
            f"Joints that the body lacks, with none of the body's above them: {told}{_more(matched.lost)}. "
            "The other joints of each vertex take their weight."
        )
    if loose:
        notes.append(f"{loose} of {len(matched.dense)} vertices have no joint of the body's: they get lifted weights.")
    return tuple(notes)


def _more(names: tuple[object, ...]) -> str:
    left = len(names) - NAMED
    return f" and {left} more" if left > 0 else ""


def _places(own: OwnJoints, skeleton: Skeleton) -> Int[np.ndarray, " J"]:
    """The body's joint of each of the garment's, -1 where it has none of that name."""
    plain: dict[str, list[int]] = {}
    for joint, name in enumerate(skeleton.names):
        plain.setdefault(_plain(name), []).append(joint)
    places = []
    for name in own.names:
        alike = plain.get(_plain(name), [])
        exact = [joint for joint in alike if skeleton.names[joint] == name]
        places.append(exact[0] if exact else alike[0] if len(alike) == 1 else NO_JOINT)
    return np.array(places, dtype=np.int64)


def _plain(name: str) -> str:
    return name.replace("|", ":").rsplit(":", 1)[-1].strip().casefold()
