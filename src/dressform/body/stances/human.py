"""The joints of a human skeleton, recognised by where they hang and stand; names are only a hint.

The lowest ends left and right are feet, the outermost are hands, the highest in the middle is the head. The ways
between them are legs, arms, trunk and neck; along a limb the two long bones are found by their lengths. Proof:
tests/body/stances/test_human.py
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stances.limbs import FINGERS, arm_joints, is_hand, leg_joints
from dressform.body.stances.names import is_head
from dressform.body.stances.tree import JointTree
from dressform.calls import likely
from dressform.errors import ArgumentError

SIDES = {"left": 1.0, "right": -1.0}
NEEDED = tuple(f"{side}_{part}" for part in ("shoulder", "elbow", "hip", "knee") for side in SIDES)
"""Parts without which a skeleton is not called human."""
BY_PLACE, AS_TOLD = "by place", "as told"
FAR_FROM_MIRROR = 0.08
"""A joint farther from the mirror image of its other side than this share of the skeleton's height is remarked on."""
MIDDLE = 0.03
"""Joints nearer to the middle plane than this share of the skeleton's height may be trunk, neck or head."""


@dataclass(frozen=True)
class HumanJoints:
    """Which joint of a skeleton is which of a human body.

    Attributes:
        skeleton: The joints.
        joints: Joint by part: `pelvis`, `trunk_1` upward, `neck_1` upward, `head`; with `left_` or `right_` before
            them `collar`, `shoulder`, `elbow`, `wrist`, `hip`, `knee`, `ankle`, `toes`, and of the hand `thumb_1`,
            `index_1` and so on, from the wrist outward.
        how: How each was found, by part: `by place` or `as told`.
        notes: What was remarkable, one sentence each.
    """

    skeleton: Skeleton
    joints: Mapping[str, int] = field(default_factory=dict)
    how: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def is_human(self) -> bool:
        """Whether arms and legs of both sides were found."""
        return all(part in self.joints for part in NEEDED)

    def named(self, prefix: str) -> list[int]:
        """Joints of a row of parts, `trunk` or `left_index`, in order."""
        return [joint for part, joint in self.joints.items() if part.rpartition("_")[0] == prefix]


def recognise(skeleton: Skeleton, skin: Skin | None = None, *, told: Mapping[str, str] | None = None) -> HumanJoints:
    """Find the joints of a human body.

    Args:
        skeleton: The joints, of a body that stands upright and faces +Z.
        skin: Tells which joints carry skin; all of them where left out.
        told: Names of joints by part; they win, and an empty name says that the body has no such part.

    Raises:
        ArgumentError: `told` names an unknown part or joint; the valid ones are listed.
    """
    tree = JointTree(skeleton, _carrying(skeleton, skin))
    found = _whole(tree)
    notes = _uneven(tree, found)
    how = dict.fromkeys(found, BY_PLACE)
    for part, name in (told or {}).items():
        if not _is_part(part):
            advice = "Use for instance left_elbow, trunk_1, neck_1, right_index_2"
            raise ArgumentError.of("recognise", "joints", "parts of a human body", repr(part), advice)
        if name and name not in skeleton.names:
            rule = f"named as the joints: {', '.join(skeleton.names)}"
            raise ArgumentError.of("recognise", "joints", rule, f"{name!r} for {part}", likely(name, skeleton.names))
        found.pop(part, None)
        how.pop(part, None)
        if name:
            found[part], how[part] = skeleton.names.index(name), AS_TOLD
    return HumanJoints(skeleton, dict(sorted(found.items())), how, notes)


_SINGLE = ("collar", "shoulder", "elbow", "wrist", "hip", "knee", "ankle", "toes")


def _is_part(part: str) -> bool:
    if part in ("pelvis", "head"):
        return True
    row, _, number = part.rpartition("_")
    side, _, own = part.partition("_")
    if side in SIDES:
        return own in _SINGLE or (number.isdigit() and row.partition("_")[2] in ("thumb", *FINGERS))
    return number.isdigit() and row in ("trunk", "neck")


def _carrying(skeleton: Skeleton, skin: Skin | None) -> np.ndarray:
    if skin is None:
        return np.ones(len(skeleton.names), dtype=bool)
    return skin.dense(len(skeleton.names)).sum(axis=0) > 0


def _whole(tree: JointTree) -> dict[str, int]:
    """Every part that hierarchy and place give."""
    feet = {side: foot for side, sign in SIDES.items() if (foot := _foot(tree, sign)) is not None}
    hands = {side: hand for side, sign in SIDES.items() if (hand := _hand(tree, sign)) is not None}
    if len(feet) < len(SIDES) or len(hands) < len(SIDES):
        return {}
    pelvis, chest = tree.meeting(*feet.values()), tree.meeting(*hands.values())
    if pelvis is None or chest is None or (below := tree.meeting(pelvis, chest)) is None:
        return {}
    found = {"pelvis": pelvis}
    found |= _row("trunk", [one for one in tree.own(tree.way(below, chest)) if one != pelvis])
    found |= _neck(tree, chest)
    for side, sign in SIDES.items():
        found |= {f"{side}_{part}": joint for part, joint in leg_joints(tree, pelvis, feet[side]).items()}
        found |= {f"{side}_{part}": joint for part, joint in arm_joints(tree, chest, hands[side], sign).items()}
    return found


def _foot(tree: JointTree, sign: float) -> int | None:
    """The lowest end on one side of the middle."""
    height = max(float(np.ptp(tree.places[:, 1])), 1e-9)
    beside = [leaf for leaf in tree.leaves if sign * tree.places[leaf, 0] > 0.3 * MIDDLE * height]
    return min(beside, key=lambda leaf: tree.places[leaf, 1], default=None)


def _hand(tree: JointTree, sign: float) -> int | None:
    """The outermost end of a hand on one side or, where none has fingers, of what does not hang from the legs."""
    foot = _foot(tree, sign)
    other = _foot(tree, -sign)
    pelvis = None if foot is None or other is None else tree.meeting(foot, other)
    legs = set() if pelvis is None or foot is None else set(tree.way(pelvis, foot)[:1])
    free = [leaf for leaf in tree.leaves if sign * tree.places[leaf, 0] > 0 and legs.isdisjoint(tree.above(leaf))]
    fingers = [leaf for leaf in free if any(is_hand(tree, joint) for joint in tree.above(leaf))]
    return max(fingers or free, key=lambda leaf: sign * tree.places[leaf, 0], default=None)


def _neck(tree: JointTree, chest: int) -> dict[str, int]:
    """Neck and head: the way from the chest to the highest end in the middle."""
    height = max(float(np.ptp(tree.places[:, 1])), 1e-9)
    middle = [
        leaf for leaf in tree.leaves if abs(tree.places[leaf, 0]) < MIDDLE * height and chest in tree.above(leaf)[1:]
    ]
    top = max(middle, key=lambda leaf: tree.places[leaf, 1], default=None)
    if top is None:
        return {}
    way = tree.own(tree.way(chest, top)) or tree.way(chest, top)[:1]
    named = [joint for joint in way if is_head(tree.skeleton.names[joint])]
    head = named[0] if named else next((joint for joint in way if len(tree.children[joint]) > 1), way[-1])
    neck = way[: way.index(head)]
    return (_row("neck", neck) | {"head": head}) if neck or named else {"neck_1": head}


def _row(name: str, joints: list[int]) -> dict[str, int]:
    return {f"{name}_{number}": joint for number, joint in enumerate(joints, start=1)}


def _uneven(tree: JointTree, found: Mapping[str, int]) -> tuple[str, ...]:
    """A sentence for each part that stands elsewhere than on the other side."""
    reach = FAR_FROM_MIRROR * float(np.ptp(tree.places[:, 1])) if len(tree.places) else 0.0
    notes = []
    for part, joint in found.items():
        side, _, own = part.partition("_")
        other = found.get(f"right_{own}") if side == "left" else None
        if other is None:
            continue
        apart = float(np.linalg.norm(tree.places[joint] - tree.places[other] * (-1, 1, 1)))
        if apart > reach:
            names = f"{tree.skeleton.names[joint]} and {tree.skeleton.names[other]}"
            notes.append(f"{names} were taken for the two sides' {own}, but stand {1000 * apart:.0f} mm from mirrored.")
    return tuple(notes)
