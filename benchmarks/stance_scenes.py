"""Stances for benchmarks: joints of the demo's skeleton turned about the body's axes at rest."""

from collections.abc import Mapping

import numpy as np

from dressform.body.pose import turned_worlds
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance

Turn = tuple[tuple[float, float, float], float]
X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
HINGE, CURL = (0.0, -1.0, 0.6), (0.3, 0.0, -1.0)
FINGERS = ("thumb", "index", "middle", "ring", "little")
_FIST: dict[str, Turn] = {f"{name}_{bone}_l": (CURL, 70.0) for name in FINGERS for bone in (1, 2)}

TURNS: Mapping[str, dict[str, Turn]] = {
    "T": {"upper_arm_l": (Z, 45.0)},
    "arms up": {"upper_arm_l": (Z, 105.0)},
    "arms down": {"upper_arm_l": (Z, -35.0)},
    "arms forward": {"upper_arm_l": (Y, -70.0)},
    "elbows 90°": {"forearm_l": (HINGE, 90.0)},
    "elbows 140°": {"forearm_l": (HINGE, 140.0)},
    "sit": {"thigh_l": (X, -90.0), "shin_l": (X, 90.0)},
    "knees 120°": {"shin_l": (X, 120.0)},
    "walk": {
        "thigh_l": (X, -30.0), "thigh_r": (X, 25.0), "shin_l": (X, 10.0), "shin_r": (X, 45.0),
        "upper_arm_l": (X, 20.0), "upper_arm_r": (X, -25.0),
    },
    "lunge": {"thigh_l": (X, -80.0), "thigh_r": (X, 30.0), "shin_l": (X, 80.0), "shin_r": (X, 60.0)},
    "bow": {"spine_1": (X, 30.0), "spine_2": (X, 20.0), "spine_3": (X, 10.0)},
    "twist": {f"spine_{number}": (Y, 15.0) for number in (1, 2, 3)},
    "head turn": {"neck": (Y, 30.0), "head": (Y, 40.0)},
    "fists": _FIST,
    "hands down": {"hand_l": (CURL, 60.0)},
}  # fmt: skip
"""Axis and degrees of each joint; where only a left joint is named, the right one mirrors it."""


def demo_stances(skeleton: Skeleton, *names: str) -> list[Stance]:
    """The stances named, or all fifteen."""
    return [turned(skeleton, name, TURNS[name]) for name in names or TURNS]


def turned(skeleton: Skeleton, name: str, turns: Mapping[str, Turn]) -> Stance:
    """A stance of joints turned about axes of the body at rest."""
    world = skeleton.world()
    wanted = dict(turns)
    for joint, ((x, y, z), degrees) in turns.items():
        if joint.endswith("_l"):
            wanted.setdefault(f"{joint[:-1]}r", ((x, -y, -z), degrees))
    quaternions = {}
    for joint, (axis, degrees) in wanted.items():
        own = world[skeleton.names.index(joint)][:3, :3].T @ np.array(axis)
        half = np.deg2rad(degrees) / 2
        quaternions[joint] = [*(np.sin(half) * own / np.linalg.norm(own)), float(np.cos(half))]
    return Stance(name, turned_worlds(skeleton, quaternions), "benchmarks/stance_scenes.py")
