"""Strong bends: which joints bend so far at a stance that linear blending needs help, and what drives the help."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from scipy.spatial.transform import Rotation

from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.body.stances.driver import Driver, local_turn, modelled_turn
from dressform.body.stances.turns import own_axes
from dressform.fit.fit import Fit

STRONG = np.deg2rad(95.0)
"""A bone that swings farther than this bends strongly: at 90° targets at rest still cope, radians."""
TURNED = np.deg2rad(120.0)
"""So does one that turns farther than this, about itself too, radians."""
TURNS = np.deg2rad(20.0)
"""Joints that turn less than this at a stance take no part in a bend, radians."""
SHORT_BONE = 0.10
"""Joints nearer than this along a limb bend as one, like those of a finger, metres."""
START_SHARE = 0.5
"""A target sets in at this share of the angle it is made for, or where the other stances still turn its joint."""
SAME_AXIS = 0.9
"""Bends of a joint whose axes make at least this cosine share one target."""


@dataclass(frozen=True, eq=False)
class StrongBend:
    """A joint, or several on short bones, that bend strongly at some stances.

    Attributes:
        joint: The joint that turns farthest, which drives.
        joints: All that bend as one.
        axis: What it turns about, in its own axes, (3,).
        angles: How far it turns about that axis, radians, by number of the stance.
    """

    joint: int
    joints: tuple[int, ...]
    axis: Float[np.ndarray, "3"]
    angles: dict[int, float]


def strong_bends(skeleton: Skeleton, stances: Sequence[Stance]) -> tuple[StrongBend, ...]:
    """The strong bends of all stances; those of one joint about nearly one axis are one."""
    found: list[StrongBend] = []
    for number, stance in enumerate(stances):
        for joints in _limbs(skeleton, stance):
            vectors = {joint: _turn(skeleton, stance, joint) for joint in joints}
            swing, turn = _bent(skeleton, stance, joints)
            if swing <= STRONG and turn <= TURNED:
                continue
            joint = max(vectors, key=lambda one: float(np.linalg.norm(vectors[one])))
            angle = float(np.linalg.norm(vectors[joint]))
            axis = vectors[joint] / angle
            known = next((one for one in found if one.joint == joint and one.axis @ axis > SAME_AXIS), None)
            if known is None:
                found.append(StrongBend(joint, joints, axis, {number: angle}))
            else:
                known.angles[number] = angle
    return tuple(found)


def without_strong(fit: Fit, stances: Sequence[Stance]) -> list[Stance]:
    """The stances without strong bends."""
    if fit.body.skeleton is None:
        return list(stances)
    strong = set(stances_of(strong_bends(fit.body.skeleton, stances)).tolist())
    return [one for number, one in enumerate(stances) if number not in strong]


def driver_of(bend: StrongBend, skeleton: Skeleton, others: Sequence[Stance]) -> Driver:
    """What drives the target of a bend: 0 up to where other stances turn its joint, 1 from its largest angle on.

    Args:
        bend: The bend.
        skeleton: The joints.
        others: Stances at which the target must be still, as far as it can be.
    """
    bind, top = modelled_turn(skeleton, bend.joint), max(bend.angles.values())
    bare = Driver(bend.joint, bend.axis, bind, ((0.0, 0.0), (top, 1.0)))
    turned = [bare.twist(skeleton, other.worlds)[0] for other in others]
    start = max([START_SHARE * top, *(angle for angle in turned if angle < top)])
    return Driver(bend.joint, bend.axis, bind, ((start, 0.0), (top, 1.0)))


def bend_places(bend: StrongBend, skeleton: Skeleton) -> Float[np.ndarray, "N 3"]:
    """Where its joints are in the modelled pose, (N, 3), metres."""
    return np.linalg.inv(skeleton.inverse_bind)[list(bend.joints), :3, 3]


def batches(bends: Sequence[StrongBend]) -> list[list[StrongBend]]:
    """Bends that some stance has at once go together, since their targets add up there."""
    groups: list[list[StrongBend]] = []
    for bend in bends:
        joined = [group for group in groups if any(bend.angles.keys() & one.angles.keys() for one in group)]
        groups = [group for group in groups if group not in joined]
        groups.append([one for group in joined for one in group] + [bend])
    return groups


def _turn(skeleton: Skeleton, stance: Stance, joint: int) -> Float[np.ndarray, "3"]:
    """How a joint has turned from the modelled pose, in its own axes there, as axis times angle."""
    if skeleton.parents[joint] < 0:
        return np.zeros(3)
    turned = Rotation.from_quat(modelled_turn(skeleton, joint)).inv() * Rotation.from_quat(
        local_turn(skeleton, stance.worlds, joint)
    )
    found: Float[np.ndarray, " 3"] = turned.as_rotvec()
    return found


def _limbs(skeleton: Skeleton, stance: Stance) -> list[tuple[int, ...]]:
    """Joints that turn, those on short bones below one another together, from the trunk outward."""
    places = np.linalg.inv(skeleton.inverse_bind)[:, :3, 3]
    turning = [joint for joint in range(len(skeleton.names)) if np.linalg.norm(_turn(skeleton, stance, joint)) > TURNS]
    chain: dict[int, list[int]] = {}
    for joint in turning:
        above = int(skeleton.parents[joint])
        if above in chain and np.linalg.norm(places[joint] - places[above]) < SHORT_BONE and chain[above][-1] == above:
            chain[joint] = chain[above]
            chain[joint].append(joint)
        else:
            chain[joint] = [joint]
    unique: list[list[int]] = []
    for limb in chain.values():
        if not any(limb is one for one in unique):
            unique.append(limb)
    return [tuple(limb) for limb in unique]


def _bent(skeleton: Skeleton, stance: Stance, joints: tuple[int, ...]) -> tuple[float, float]:
    """How far the bone below the last of some joints has swung, and turned, against what carries the first, radians.

    An arm on its way forward turns about itself, too, and swings less.
    """
    modelled, last = np.linalg.inv(skeleton.inverse_bind), joints[-1]
    below = np.flatnonzero(skeleton.parents == last)
    ends = (last, below) if len(below) else (int(skeleton.parents[last]), [last])
    bone = modelled[ends[1], :3, 3].mean(axis=0) - modelled[ends[0], :3, 3]
    turns = [_turned(worlds, int(skeleton.parents[joints[0]]), last) for worlds in (modelled, stance.worlds)]
    own = Rotation.from_matrix(own_axes(modelled[last])).inv().apply(bone)
    before, after = (turn.apply(own) for turn in turns)
    swing = float(np.arctan2(np.linalg.norm(np.cross(before, after)), before @ after))
    return swing, float((turns[1] * turns[0].inv()).magnitude())


def _turned(worlds: Float[np.ndarray, "J 4 4"], above: int, joint: int) -> Rotation:
    """How the axes of a joint stand in those of one above it."""
    return Rotation.from_matrix(own_axes(np.linalg.solve(worlds[above], worlds[joint])))


def shares_of(
    bends: Sequence[StrongBend], skeleton: Skeleton, cloth: Float[np.ndarray, "G 3"], *, blur: float
) -> Float[np.ndarray, "N G"]:
    """How much of a displacement at each vertex each bend takes, (N, G): nearly all the nearest one; they sum to 1."""
    near = np.stack([_distance(bend_places(one, skeleton), cloth) for one in bends])
    weights = np.exp(-((near**2 - (near**2).min(axis=0)) / (2 * blur**2)))
    return weights / weights.sum(axis=0)


def _distance(places: Float[np.ndarray, "N 3"], cloth: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, " G"]:
    return np.linalg.norm(cloth[:, None] - places[None], axis=2).min(axis=1)


def stances_of(bends: Sequence[StrongBend]) -> Int[np.ndarray, " S"]:
    """Numbers of the stances at which some of these bend, (S,)."""
    return np.unique(np.array([number for bend in bends for number in bend.angles], dtype=np.int64))
