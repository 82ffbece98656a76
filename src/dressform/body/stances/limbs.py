"""Joints of arms, hands and legs, along the way from the trunk to the end of the limb."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from dressform.body.stances.tree import JointTree

FINGERS = ("index", "middle", "ring", "little")
MIN_FINGERS = 2
"""A joint with so many chains below it is a wrist."""
MIDHAND = 0.3
"""A finger's first joint nearer to the wrist than this share of the finger's reach lies in the hand."""
SHOULDER_OUT = 0.06
"""A shoulder stands farther out from the middle than this share of the skeleton's height; a collar bone does not."""
HAND_REACH = 0.2
"""Fingers reach less far from the wrist than this share of the skeleton's height."""
UNEVEN = 0.5
"""What a difference between the two bones of a limb counts, against the shorter one's length."""


def leg_joints(tree: JointTree, pelvis: int, foot: int) -> dict[str, int]:
    """Hip, knee, ankle and toes, from the way between pelvis and the lowest end of a side."""
    way = tree.own(tree.way(pelvis, foot))
    ankle = _ankle(tree, way)
    if ankle is None:
        return {}
    bones = _two_bones(tree, way[: ankle + 1])
    if bones is None:
        return {}
    found = {"hip": bones[0], "knee": bones[1], "ankle": way[ankle]}
    return found | ({"toes": way[ankle + 1]} if ankle + 1 < len(way) else {})


def _ankle(tree: JointTree, way: Sequence[int]) -> int | None:
    """The last joint of a leg above the foot: the first that lies low against the leg's height, else the last one."""
    if len(way) < 3:
        return None
    top, floor = tree.places[way[0], 1], tree.places[way, 1].min()
    low = [at for at in range(2, len(way)) if tree.places[way[at], 1] - floor < 0.25 * (top - floor)]
    return low[0] if low else len(way) - 1


def arm_joints(tree: JointTree, chest: int, hand: int, sign: float) -> dict[str, int]:
    """Collar, shoulder, elbow and wrist, and the joints of the hand; `sign` is 1 on the left, -1 on the right."""
    way = tree.way(chest, hand)
    split = next((at for at, joint in enumerate(way) if len(_chains(tree, joint)) >= MIN_FINGERS), None)
    own = tree.own(way if split is None else way[: split + 1])
    out = SHOULDER_OUT * float(np.ptp(tree.places[:, 1]))
    beside = [joint for joint in own if sign * tree.places[joint, 0] > out]
    bones = _two_bones(tree, beside)
    if bones is None:
        return {}
    found = {"shoulder": bones[0], "elbow": bones[1], "wrist": bones[2]}
    before = own[: own.index(bones[0])]
    found |= {"collar": before[-1]} if before else {}
    return found | (_digits(tree, bones[2], bones[1]) if split is not None else {})


def is_hand(tree: JointTree, joint: int) -> bool:
    """Whether a joint off the middle carries the short chains of a hand, which wings and tools do not."""
    height = float(np.ptp(tree.places[:, 1]))
    ends = [chain[-1] for chain in _chains(tree, joint)]
    near = [float(np.linalg.norm(tree.places[end] - tree.places[joint])) < HAND_REACH * height for end in ends]
    return len(ends) > MIN_FINGERS and all(near) and abs(float(tree.places[joint, 0])) > SHOULDER_OUT * height


def _two_bones(tree: JointTree, own: Sequence[int]) -> tuple[int, int, int] | None:
    """The two long bones that end at the last joint of a chain: both long, and not too different."""
    if len(own) < 3:
        return None
    last = tree.places[own[-1]]

    def worth(pair: tuple[int, int]) -> float:
        upper = float(np.linalg.norm(tree.places[pair[1]] - tree.places[pair[0]]))
        lower = float(np.linalg.norm(last - tree.places[pair[1]]))
        return min(upper, lower) - UNEVEN * abs(upper - lower)

    first, second = max(combinations(own[:-1], 2), key=worth)
    return first, second, own[-1]


def _chains(tree: JointTree, joint: int) -> list[list[int]]:
    """Chains of at least two joints below a joint, each from the top to its lowest end."""
    found = []
    for child in tree.children[joint]:
        chain = [child]
        while tree.children[chain[-1]]:
            chain.append(max(tree.children[chain[-1]], key=lambda one: len(tree.children[one])))
        own = tree.own(chain)
        if len(own) >= 2:
            found.append(own)
    return found


def _digits(tree: JointTree, wrist: int, elbow: int) -> dict[str, int]:
    """Thumb and fingers by place: the thumb starts nearest to the wrist, the fingers follow across the hand from it."""
    chains = _chains(tree, wrist)
    starts = np.stack([tree.places[chain[0]] for chain in chains])
    along = tree.places[wrist] - tree.places[elbow]
    along = along / max(float(np.linalg.norm(along)), 1e-9)
    reach = (np.stack([tree.places[chain[-1]] for chain in chains]) - tree.places[wrist]) @ along
    across = starts - tree.places[wrist] - np.outer((starts - tree.places[wrist]) @ along, along)
    order = [int(one) for one in np.argsort(reach)]
    thumb = order[0] if len(chains) > MIN_FINGERS else -1
    fingers = [at for at in range(len(chains)) if at != thumb]
    if thumb >= 0:
        fingers.sort(key=lambda at: float(np.linalg.norm(across[at] - across[thumb])))
    found: dict[str, int] = {}
    for name, at in zip(FINGERS, fingers):
        found |= {f"{name}_{number}": one for number, one in enumerate(_knuckled(tree, wrist, chains[at]), start=1)}
    if thumb >= 0:
        chain = chains[thumb][:3]
        found |= {f"thumb_{3 - len(chain) + number}": one for number, one in enumerate(chain, start=1)}
    return found


def _knuckled(tree: JointTree, wrist: int, chain: Sequence[int]) -> Sequence[int]:
    """A finger from its knuckle on, at most three joints."""
    far = [float(np.linalg.norm(tree.places[joint] - tree.places[wrist])) for joint in chain]
    skip = 1 if len(chain) > 3 and far[0] < MIDHAND * far[-1] else 0
    return chain[skip : skip + 3]
