"""Which stances leave a garment as it was modelled: neither the cloth nor the skin near it moves within itself.

A wrist that turns changes nothing about trousers. At such a stance every fault is that of the modelled pose, so a check
need not measure it again.
"""

from collections.abc import Sequence

import numpy as np
from jaxtyping import Float, Int
from scipy.spatial import cKDTree

from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance
from dressform.fit.fit import Fit
from dressform.sweep.worst import REACH, paired

NEAR = 0.05
"""Skin nearer to the cloth than this, and all skin that the cloth covers, must be still too, metres."""
STILL = 1e-4
"""What moves by less than this against all else is still, metres."""
RIGID = 1e-6
"""A stance that scales what carries the garment changes areas: its joint must be turned and moved alone."""


def moving_stances(fit: Fit, stances: Sequence[Stance]) -> list[Stance]:
    """The stances at which some cloth, or skin near it, moves against the rest of both, in their order.

    All of them where this cannot be told from joint weights alone: a method that says itself where the cloth is,
    joints that follow morphs, cloth without joint weights.

    Proof: tests/sweep/test_still.py
    """
    body = fit.body
    if not stances or not fit.is_linear or fit.skin is None or body.skin is None or body.skeleton is None:
        return list(stances)
    if body.joint_moves is not None and body.joint_moves.any():
        return list(stances)
    near = skin_near(body, fit)
    parts = [(fit.skin, fit.base, fit.deltas), (body.skin.at(near), body.vertices[near], body.deltas[:, near])]
    reach = np.maximum(np.abs(body.range.low), np.abs(body.range.high))
    carried = [(skin, at, reach @ np.linalg.norm(deltas, axis=2)) for skin, at, deltas in parts]
    heaviest = int(np.argmax(fit.skin.dense(len(body.skeleton.names)).sum(axis=0)))
    return [one for one in stances if _moves(fit, one, heaviest, carried)]


def skin_near(body: Body, fit: Fit) -> Int[np.ndarray, " N"]:
    """Vertices of the body that the cloth covers or that lie near it, at the base, (N,)."""
    covered = paired(body, body.vertices, fit.garment.faces, fit.base, REACH).skin
    near = cKDTree(fit.base).query(body.vertices, distance_upper_bound=NEAR)[0] < NEAR
    return np.union1d(covered, np.flatnonzero(near))


def _moves(
    fit: Fit,
    stance: Stance,
    heaviest: int,
    carried: Sequence[tuple[Skin, Float[np.ndarray, "V 3"], Float[np.ndarray, " V"]]],
) -> bool:
    """Whether anything moves, seen from the joint that carries most of the cloth, at any shape of the range."""
    skeleton = fit.body.skeleton
    assert skeleton is not None
    if any(one.driver.at(skeleton, stance.worlds) > 0 for one in fit.correctives):
        return True
    transforms = stance.worlds @ skeleton.inverse_bind
    turn = transforms[heaviest][:3, :3]
    if np.abs(turn.T @ turn - np.eye(3)).max() > RIGID:
        return True
    relative = (np.linalg.inv(transforms[heaviest]) @ transforms)[:, :3]
    change = relative - np.eye(4)[:3]
    return any(_largest_move(skin, change, points, extent) > STILL for skin, points, extent in carried)


def _largest_move(
    skin: Skin, change: Float[np.ndarray, "J 3 4"], points: Float[np.ndarray, "V 3"], extent: Float[np.ndarray, " V"]
) -> float:
    """The farthest that any vertex can be moved at any shape, metres, bounded from above."""
    sizes = np.linalg.norm(change[:, :, :3], axis=(1, 2)) + np.linalg.norm(change[:, :, 3], axis=1)
    asked = np.flatnonzero((skin.weights * (sizes[skin.joints] > 0)).sum(axis=1) > 0)
    if not asked.size:
        return 0.0
    maps = np.einsum("vn,vnij->vij", skin.weights[asked], change[skin.joints[asked]])
    moved = np.linalg.norm(np.einsum("vij,vj->vi", maps[:, :, :3], points[asked]) + maps[:, :, 3], axis=1)
    return float((moved + np.linalg.norm(maps[:, :, :3], axis=(1, 2)) * extent[asked]).max())
