"""The slack at a stance covers what float32 engines do to a skinned vertex."""

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance, carry
from dressform.proof.linear_mesh import linear_mesh
from dressform.proof.posed_slack import posed_slack

JOINTS, MORPHS, POINTS = 8, 6, 300
SINGLE = np.float32


def turned(quaternions: np.ndarray, kind: type) -> np.ndarray:
    """Rotation matrices as an engine makes them of quaternions, in a precision."""
    x, y, z, w = quaternions.astype(kind).T
    one, two = kind(1), kind(2)
    return np.array(
        [
            [one - two * (y * y + z * z), two * (x * y - z * w), two * (x * z + y * w)],
            [two * (x * y + z * w), one - two * (x * x + z * z), two * (y * z - x * w)],
            [two * (x * z - y * w), two * (y * z + x * w), one - two * (x * x + y * y)],
        ],
        dtype=kind,
    ).transpose(2, 0, 1)


def chain(quaternions: np.ndarray, offsets: np.ndarray, kind: type) -> np.ndarray:
    """Joint-to-world transforms of a chain of joints, in a precision."""
    local = np.tile(np.eye(4, dtype=kind), (len(offsets), 1, 1))
    local[:, :3, :3], local[:, :3, 3] = turned(quaternions, kind), offsets.astype(kind)
    for joint in range(1, len(local)):
        local[joint] = local[joint - 1] @ local[joint]
    return local


@pytest.mark.parametrize("seed", range(6))
def test_slack_covers_morphing_and_skinning_in_float32_and_is_not_vacuous(seed: int) -> None:
    rng = np.random.default_rng(seed)
    offsets = rng.normal(size=(JOINTS, 3)) * 0.3
    quaternions = rng.normal(size=(JOINTS, 4))
    quaternions /= np.linalg.norm(quaternions, axis=1, keepdims=True)
    quaternions = quaternions.astype(SINGLE).astype(float)
    offsets = offsets.astype(SINGLE).astype(float)
    rest = np.tile(np.eye(4), (JOINTS, 1, 1))
    rest[:, :3, 3] = offsets
    bind = np.linalg.inv(Skeleton(("",) * JOINTS, np.arange(JOINTS) - 1, rest, rest).world())
    skeleton = Skeleton(tuple(f"j{n}" for n in range(JOINTS)), np.arange(JOINTS) - 1, rest, bind)
    skin = Skin.from_dense(rng.uniform(size=(POINTS, JOINTS)) ** 4)
    vertices, deltas = rng.normal(size=(POINTS, 3)), 0.2 * rng.normal(size=(MORPHS, POINTS, 3))
    mesh = linear_mesh(vertices, deltas, rng.integers(0, POINTS, (POINTS, 3)))
    box = Range(tuple("abcdef"), np.full(MORPHS, -1.0), np.full(MORPHS, 1.0))
    stance = Stance("bent", chain(quaternions, offsets, np.float64))
    slack = posed_slack(mesh, box, skin, skeleton, stance)
    matrices = chain(quaternions, offsets, SINGLE) @ bind.astype(SINGLE)
    weights32, maps, worst = skin.weights.astype(SINGLE), stance.maps(skin, skeleton), 0.0
    for _ in range(20):
        shape = rng.uniform(-1, 1, MORPHS).astype(SINGLE).astype(float)
        live = vertices.astype(SINGLE)
        for weight, delta in zip(shape, deltas):
            live = live + SINGLE(weight) * delta.astype(SINGLE)
        played = np.zeros((POINTS, 3), dtype=SINGLE)
        for slot in range(4):  # each joint's own position, then their mean, as a shader may do it
            matrix = matrices[skin.joints[:, slot]]
            place = (matrix[:, :3, :3] * live[:, None]).sum(axis=2, dtype=SINGLE) + matrix[:, :3, 3]
            played += weights32[:, slot, None] * place
        blend = np.zeros((POINTS, 4, 4), dtype=SINGLE)  # or the mean of the matrices first
        for slot in range(4):
            blend += weights32[:, slot, None, None] * matrices[skin.joints[:, slot]]
        second = np.einsum("vij,vj->vi", blend[:, :3, :3], live, dtype=SINGLE) + blend[:, :3, 3]
        true = carry(maps, mesh.at(shape))
        worst = max(worst, *(float(np.linalg.norm(one - true, axis=1).max()) for one in (played, second)))
    assert worst < slack
    assert slack < 300 * worst


def test_slack_grows_with_the_length_of_the_chain_and_the_distance_from_the_origin() -> None:
    def of(count: int, far: float) -> float:
        rest = np.tile(np.eye(4), (count, 1, 1))
        rest[:, 1, 3] = 0.1
        bind = np.linalg.inv(Skeleton(("",) * count, np.arange(count) - 1, rest, rest).world())
        skeleton = Skeleton(tuple(map(str, range(count))), np.arange(count) - 1, rest, bind)
        mesh = linear_mesh(far * np.eye(3), np.zeros((0, 3, 3)), np.array([[0, 1, 2]]))
        skin = Skin(np.full((3, 1), count - 1), np.ones((3, 1)))
        none = Range((), np.zeros(0), np.zeros(0))
        return posed_slack(mesh, none, skin, skeleton, Stance("rest", skeleton.world()))

    assert 0 < of(2, 1.0) < of(6, 1.0) < 1e-4
    assert of(2, 1.0) < of(2, 2.0)
