"""The demo body's skeleton: joints from the anatomy table, every rest transform a pure translation."""

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skeleton
from dressform.demo.body_anatomy import Anatomy
from dressform.demo.body_parts import FINGERS, finger_points, frames

SIDES = ("l", "r")


def skeleton_of(anatomy: Anatomy) -> Skeleton:
    """The skeleton of an anatomy; joints of the body's left side end in `_l` and lie at +X."""
    placed = _left_and_middle(anatomy)
    names, parents, positions = [], [], []
    for side in SIDES:
        for name, (parent, at, sided) in placed.items():
            if not sided and side == "r":
                continue
            own = f"{name}_{side}" if sided else name
            above = f"{parent}_{side}" if parent in placed and placed[parent][2] else parent
            names.append(own)
            parents.append(names.index(above) if above else -1)
            positions.append(at * np.array([1.0 if side == "l" or not sided else -1.0, 1.0, 1.0]))
    world = np.stack(positions)
    parent_index = np.array(parents)
    rest = np.tile(np.eye(4), (len(names), 1, 1))
    rest[:, :3, 3] = world - np.where(parent_index[:, None] >= 0, world[parent_index], 0.0)
    inverse_bind = np.tile(np.eye(4), (len(names), 1, 1))
    inverse_bind[:, :3, 3] = -world
    return Skeleton(tuple(names), parent_index, rest, inverse_bind)


def _left_and_middle(anatomy: Anatomy) -> dict[str, tuple[str, Float[np.ndarray, "3"], bool]]:
    """Parent, position and sidedness by joint name without side."""
    at = frames(anatomy)
    placed = {
        name: (entry["parent"], at[entry["frame"]].point(entry["at"]), bool(entry.get("mirrored", False)))
        for name, entry in anatomy["joints"].items()
    }
    for finger in FINGERS:
        points = finger_points(anatomy, finger)
        placed[f"{finger}_1"] = ("hand", at["hand"].point(points[0]), True)
        placed[f"{finger}_2"] = (f"{finger}_1", at["hand"].point(points[1]), True)
    return placed
