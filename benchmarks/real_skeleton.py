"""Joints and joint weights for the real mean body, which has none: bones placed by hand, weights by distance."""

from dataclasses import replace

import numpy as np

from dressform.body.body import Body
from dressform.body.skeleton import Skeleton, Skin

SPINE = {"pelvis": (0, 0.95, 0), "spine_1": (0, 1.02, 0), "spine_2": (0, 1.12, -0.01), "spine_3": (0, 1.24, -0.02),
         "neck": (0, 1.44, -0.02), "head": (0, 1.53, 0)}  # fmt: skip
LIMBS = {"upper_arm": (0.17, 1.37, -0.03), "forearm": (0.40, 1.13, 0.0), "hand": (0.56, 0.99, 0.04),
         "thigh": (0.09, 0.90, 0.0), "shin": (0.11, 0.50, 0.0), "foot": (0.13, 0.09, -0.03)}  # fmt: skip
ABOVE = {"spine_1": "pelvis", "spine_2": "spine_1", "spine_3": "spine_2", "neck": "spine_3", "head": "neck",
         "upper_arm": "spine_3", "forearm": "upper_arm", "hand": "forearm", "thigh": "pelvis", "shin": "thigh",
         "foot": "shin"}  # fmt: skip
ENDS = {"head": (0, 1.70, 0), "hand": (0.65, 0.90, 0.05), "foot": (0.14, 0.02, 0.10)}
"""Places on the mean body, metres: joints, the joint above each, and where the last bones end. `_l` is x > 0."""
FALLOFF = 6.0
"""A bone counts by its distance to the power of minus this."""
NEAREST = 0.01
"""Distances below this count as this, metres."""


def jointed(body: Body) -> Body:
    """The body with a skeleton, each vertex carried by the bones nearest to it."""
    places: dict[str, np.ndarray] = {name: np.array(at, dtype=float) for name, at in SPINE.items()}
    above, ends = dict(ABOVE), {name: np.array(at, dtype=float) for name, at in ENDS.items()}
    for side, sign in (("l", 1.0), ("r", -1.0)):
        flip = np.array([sign, 1.0, 1.0])
        for name, at in LIMBS.items():
            places[f"{name}_{side}"] = flip * np.array(at)
            parent = ABOVE[name]
            above[f"{name}_{side}"] = f"{parent}_{side}" if parent in LIMBS else parent
            if name in ENDS:
                ends[f"{name}_{side}"] = flip * np.array(ENDS[name])
    names = tuple(places)
    parents = np.array([names.index(above[name]) if name in above else -1 for name in names])
    rest = np.tile(np.eye(4), (len(names), 1, 1))
    for joint, parent in enumerate(parents):
        rest[joint, :3, 3] = places[names[joint]] - (places[names[parent]] if parent >= 0 else 0.0)
    bind = np.tile(np.eye(4), (len(names), 1, 1))
    bind[:, :3, 3] = [-places[name] for name in names]
    near = np.full((len(body.vertices), len(names)), np.inf)
    for joint, name in enumerate(names):
        below = [places[child] for child, parent in above.items() if parent == name and child in places]
        for end in below or [ends[name]]:
            near[:, joint] = np.minimum(near[:, joint], _to_bone(body.vertices, places[name], end))
    weights = np.maximum(near, NEAREST) ** -FALLOFF
    skin = Skin.from_dense(weights / weights.sum(axis=1, keepdims=True))
    return replace(body, skeleton=Skeleton(names, parents, rest, bind), skin=skin)


def _to_bone(points: np.ndarray, start: np.ndarray, end: np.ndarray) -> np.ndarray:
    """Distance of points to a straight bone, (V,), metres."""
    along = end - start
    share = np.clip((points - start) @ along / (along @ along), 0, 1)
    return np.linalg.norm(points - start - share[:, None] * along, axis=1)
