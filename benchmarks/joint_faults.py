"""Garments with one fault of their own joint weights: the demo's, at a stance that shows it.

Every seed takes one garment of the demo, the joint weights lifted to it as its own, and spoils them in one of five ways
at a random place and strength; so the cause is known. Where the check then finds nothing new, the seed does not count.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

import dressform as df
from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.fit.fit import Fit
from dressform.garment.along import distance_along
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.own_joints import OwnJoints

STANCES: Mapping[str, tuple[str, ...]] = {
    "guernsey": ("elbows 90°", "arms up"),
    "coat": ("elbows 90°", "bow"),
    "waistcoat": ("arms up", "twist"),
    "trousers": ("sit", "lunge"),
    "gloves": ("fists", "hands down"),
}
"""The stances in which each garment is looked at."""
KINDS = ("another part's joint", "left and right swapped", "one joint", "noise", "shifted along the limb")
REACH = (0.10, 0.25)
"""A fault reaches so far along the cloth, metres."""


@dataclass(frozen=True)
class SeededJoints:
    """One seed: its kind of fault, and joint weights that have it."""

    kind: str
    skin: Skin


def with_own(garment: Garment, body: Body) -> Garment:
    """The garment with the lifted joint weights as its own."""
    skin, skeleton = df.fit(body, garment, Following(joint_weights="lifted")).skin, body.skeleton
    assert skin is not None
    assert skeleton is not None
    return replace(garment, own_joints=OwnJoints(skeleton.names, skeleton.parents, skin.joints, skin.weights))


def seeded(seed: int, fit: Fit) -> SeededJoints:
    """The seed of a number; the same number gives the same arrays."""
    draw, kind = np.random.default_rng(seed), KINDS[(seed // len(STANCES)) % len(KINDS)]
    assert fit.skin is not None
    assert fit.body.skeleton is not None
    dense = fit.skin.dense(len(fit.body.skeleton.names))
    return SeededJoints(kind, Skin.from_dense(spoil(dense, fit.garment, fit.body, kind, draw)))


def spoil(dense: np.ndarray, garment: Garment, body: Body, kind: str, draw: np.random.Generator) -> np.ndarray:
    """The weights with a fault of one kind, (G, J)."""
    skeleton, used = body.skeleton, np.flatnonzero(dense.max(axis=0) > 0.3)
    assert skeleton is not None
    if kind == "left and right swapped":
        return dense[:, mirrored(skeleton.names)]
    moving = used[skeleton.parents[used] >= 0]
    joint = int(draw.choice(moving))
    seat = int(np.argmax(dense[:, joint] + 1e-3 * draw.random(len(dense))))
    seeds = np.zeros(len(dense), dtype=bool)
    seeds[seat] = True
    reach = draw.uniform(*REACH)
    away = distance_along(garment.vertices, garment.faces, seeds, within=reach)
    share = np.where(np.isfinite(away), np.clip(2.0 - 2.0 * away / reach, 0.0, 1.0), 0.0)[:, None]
    if kind == "another part's joint":
        other = int(draw.choice(np.setdiff1d(used, [joint, skeleton.parents[joint]])))
        return dense + draw.uniform(0.4, 0.8) * share * (np.eye(dense.shape[1])[other] - dense)
    if kind == "one joint":
        target = int(draw.choice([joint, max(int(skeleton.parents[joint]), 0)]))
        piece = (dense[:, joint] + dense[:, target] > 0.2)[:, None]
        return np.where(piece, np.eye(dense.shape[1])[target], dense)
    if kind == "noise":
        rough = np.clip(
            dense + draw.normal(0.0, draw.uniform(0.1, 0.25), dense.shape) * (dense.max(axis=0) > 0.3), 0, None
        )
        rough /= rough.sum(axis=1, keepdims=True)
        return dense + (share > 0) * (rough - dense)
    axis = skeleton.positions[joint] - skeleton.positions[max(int(skeleton.parents[joint]), 0)]
    moved = garment.vertices + draw.choice([-1, 1]) * draw.uniform(0.05, 0.09) * axis / np.linalg.norm(axis)
    nearest = np.argmin(((moved[:, None] - garment.vertices[None, ::7]) ** 2).sum(axis=2), axis=1) * 7
    return dense + share * (dense[nearest] - dense)


def mirrored(names: tuple[str, ...]) -> np.ndarray:
    """Of each joint that of the other side."""

    def other(name: str) -> str:
        return name[:-1] + {"l": "r", "r": "l"}[name[-1]] if name.endswith(("_l", "_r")) else name

    return np.array([names.index(other(name)) for name in names])
