"""The few moments of an animation that differ most: a farthest-point choice among the joints' own turns.

Between two moments the difference is the largest one of any joint against its parent: the angle between its turns, or,
where it is moved or scaled, the change as a share of its distance from the parent, as an angle. What moves the whole
body changes nothing between cloth and skin and is not counted. Starting from the modelled pose, which is always looked
at, the moment farthest from all chosen ones is chosen next, until each lies within a given angle of one. Each choice is
at most twice as far as the best choice of as many moments [Gonzalez1985]. Proof: tests/body/stances/test_moments.py
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from scipy.spatial.transform import Rotation

from dressform.body.pose import Animation
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance
from dressform.body.stances.turns import modelled_worlds, own_axes

MOST_MOMENTS = 6
"""So many moments of one animation at most."""
NEAR_ENOUGH = 15.0
"""Degrees: no more are chosen once no joint at any moment differs by more from a chosen one."""
PER_SECOND = 30.0
MOST_LOOKED_AT = 600
"""Moments that are looked at: beside every key this many a second, but no more than this in all."""


@dataclass(frozen=True)
class ChosenMoments:
    """Which moments of an animation stand for it.

    Attributes:
        times: Rising, (M,), seconds.
        looked_at: How many were compared.
        apart: Largest angle of any joint between some moment and the nearest that was chosen, degrees.
    """

    times: Float[np.ndarray, " M"]
    looked_at: int
    apart: float


def chosen_moments(
    animation: Animation,
    skeleton: Skeleton,
    skin: Skin | None = None,
    *,
    most: int = MOST_MOMENTS,
    near: float = NEAR_ENOUGH,
) -> ChosenMoments:
    """Choose the moments that differ most from the modelled pose and from each other.

    Args:
        animation: What moves the joints.
        skeleton: The joints; their modelled pose counts as chosen.
        skin: Tells which joints move all skin at once; only roots where left out.
        most: So many at most.
        near: Degrees; no further moment is chosen once all lie within it.
    """
    times = _candidates(animation)
    turns, offsets = _local(
        skeleton, _counted(skeleton, skin), np.stack([modelled_worlds(skeleton), *(animation.worlds(t) for t in times)])
    )
    left = _differences(turns, offsets, 0)[1:]
    chosen: list[int] = []
    while len(chosen) < min(most, len(times)) and left.max() > np.deg2rad(near):
        chosen.append(int(np.argmax(left)))
        left = np.minimum(left, _differences(turns, offsets, chosen[-1] + 1)[1:])
    return ChosenMoments(times[sorted(chosen)], len(times), float(np.rad2deg(left.max())))


def animated_stances(
    animation: Animation, skeleton: Skeleton, skin: Skin | None = None
) -> tuple[tuple[Stance, ...], str]:
    """A stance for each chosen moment, and a sentence that says how many and why."""
    moments = chosen_moments(animation, skeleton, skin)
    stances = tuple(
        Stance(
            f"{animation.name} {time:.2f} s", animation.worlds(time), f"the animation {animation.name!r}, {time:.2f} s"
        )
        for time in map(float, moments.times)
    )
    few = f"{len(stances)} of {moments.looked_at} moments of the animation {animation.name!r} were chosen"
    near = f"at no moment a joint is more than {moments.apart:.0f}° from its turn at one of these or at rest"
    return stances, f"{few}: {near}."


def _candidates(animation: Animation) -> Float[np.ndarray, " T"]:
    first, last = float(animation.times[0]), animation.duration
    count = min(round((last - first) * PER_SECOND) + 1, MOST_LOOKED_AT)
    times = np.union1d(np.linspace(first, last, max(count, 1)), animation.times)
    return times if len(times) <= MOST_LOOKED_AT else times[np.linspace(0, len(times) - 1, MOST_LOOKED_AT).astype(int)]


def _counted(skeleton: Skeleton, skin: Skin | None) -> Int[np.ndarray, " K"]:
    """Joints that move some skin against other skin: those with a parent that do not carry all of it."""
    below = np.eye(len(skeleton.names), dtype=bool)
    for joint in range(len(skeleton.names) - 1, -1, -1):
        if skeleton.parents[joint] >= 0:
            below[skeleton.parents[joint]] |= below[joint]
    carries = np.ones(len(skeleton.names), dtype=bool) if skin is None else skin.dense(len(skeleton.names)).any(axis=0)
    return np.flatnonzero((skeleton.parents >= 0) & (carries & ~below).any(axis=1))


def _local(
    skeleton: Skeleton, below: Int[np.ndarray, " K"], worlds: Float[np.ndarray, "T J 4 4"]
) -> tuple[Float[np.ndarray, "T K 4"], Float[np.ndarray, "T K 6"]]:
    """Turn of each joint that counts, and its offset and size as shares of its distance from the parent."""
    if not below.size:  # a single joint can only move the whole body
        return np.zeros((len(worlds), 0, 4)), np.zeros((len(worlds), 0, 6))
    local = np.linalg.inv(worlds[:, skeleton.parents[below]]) @ worlds[:, below]
    turns = Rotation.from_matrix(
        np.stack([own_axes(one) for one in local.reshape(-1, 4, 4)])
    ).as_quat().reshape(len(worlds), len(below), 4)  # fmt: skip
    reach = np.maximum(np.linalg.norm(local[0, :, :3, 3], axis=1), 1e-3 * _largest(local[0]))
    sizes = np.linalg.norm(local[:, :, :3, :3], axis=2)
    return turns, np.concatenate([local[:, :, :3, 3] / reach[:, None], sizes / sizes[0]], axis=2)


def _largest(local: Float[np.ndarray, "K 4 4"]) -> float:
    return max(float(np.linalg.norm(local[:, :3, 3], axis=1).max()), 1e-9)


def _differences(
    turns: Float[np.ndarray, "T K 4"], offsets: Float[np.ndarray, "T K 6"], at: int
) -> Float[np.ndarray, " T"]:
    """The largest difference of any joint between one moment and each, radians."""
    cosines = np.clip(np.abs((turns * turns[at]).sum(axis=2)), 0.0, 1.0)
    angles = 2 * np.arccos(cosines).max(axis=1, initial=0.0)
    moved = np.linalg.norm(offsets - offsets[at], axis=2).max(axis=1, initial=0.0)
    return np.maximum(angles, moved)
