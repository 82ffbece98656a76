"""Morph targets and skins appended to a glTF under construction."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import JOINTS_PER_VERTEX, Skeleton, Skin
from dressform.formats.gltf.builder import Builder

# Rows of a sparse target shorter than this are left out: 10 nm, so that even 500 morphs at once stay under 5 µm.
ZERO_LENGTH = 1e-8
ZERO_TURN = 1e-4
SAME_TRANSFORM = 1e-6


def add_morph(
    builder: Builder,
    positions: Float[np.ndarray, "N 3"],
    normals: Float[np.ndarray, "N 3"] | None,
    tangents: Float[np.ndarray, "N 3"] | None = None,
    *,
    sparse: bool = True,
) -> dict[str, int]:
    """One morph target of one primitive from displacements in its own space."""
    target = {"POSITION": builder.add_target(positions, threshold=ZERO_LENGTH, bounds=True, sparse=sparse)}
    return target | add_turns(builder, {"NORMAL": normals, "TANGENT": tangents}, sparse=sparse)


def add_turns(
    builder: Builder, turns: Mapping[str, Float[np.ndarray, "N 3"] | None], *, sparse: bool = True
) -> dict[str, int]:
    """What a target changes of directions, by attribute; nothing for None."""
    return {
        name: builder.add_target(turn, threshold=ZERO_TURN, bounds=False, sparse=sparse)
        for name, turn in turns.items()
        if turn is not None
    }


def add_skin_attributes(builder: Builder, skin: Skin, joint_count: int) -> dict[str, int]:
    """`JOINTS_0` and `WEIGHTS_0`: four joints, weights that sum to 1 in float32, joint 0 where a weight is 0."""
    if skin.joints.shape[1] != JOINTS_PER_VERTEX:
        skin = Skin.from_dense(skin.dense(joint_count))
    weights = skin.weights.astype(np.float32)
    weights /= weights.sum(axis=1, keepdims=True)
    joints = np.where(weights > 0, skin.joints, 0)
    return {
        "JOINTS_0": builder.add_joints(joints, joint_count),
        "WEIGHTS_0": builder.add_floats(weights.astype(np.float64)),
    }


def add_skeleton(builder: Builder, skeleton: Skeleton) -> tuple[list[int], list[int]]:
    """Append one node per joint; the joint nodes, and the nodes that belong into the scene.

    Joints without a common root get one above them, as glTF asks.
    """
    first = len(builder.table("nodes"))
    joints = list(range(first, first + len(skeleton.names)))
    for index, name in enumerate(skeleton.names):
        children = [first + int(child) for child in np.flatnonzero(skeleton.parents == index)]
        entry: dict[str, Any] = {"name": name, **transform_entry(skeleton.rest[index])}
        if children:
            entry["children"] = children
        builder.add("nodes", entry)
    roots = [first + int(joint) for joint in np.flatnonzero(skeleton.parents < 0)]
    if len(roots) > 1:
        roots = [builder.add("nodes", {"name": "skeleton", "children": roots})]
    return joints, roots


def add_skin(builder: Builder, skeleton: Skeleton, joints: Sequence[int], matrix: Float[np.ndarray, "4 4"]) -> int:
    """Append a skin for a mesh whose own space `matrix` carries into the skeleton's."""
    inverse = builder.add_matrices(skeleton.inverse_bind @ matrix)
    return builder.add("skins", {"joints": list(joints), "inverseBindMatrices": inverse})


def transform_entry(matrix: Float[np.ndarray, "4 4"]) -> dict[str, list[float]]:
    """Translation, rotation and scale of a node (animations need them apart); a matrix where it shears."""
    linear = matrix[:3, :3]
    scale = np.linalg.norm(linear, axis=0)
    if np.linalg.det(linear) < 0:
        scale[0] = -scale[0]
    if not np.all(scale):
        return {"matrix": [float(value) for value in matrix.T.ravel()]}
    turn = linear / scale
    if np.abs(turn.T @ turn - np.eye(3)).max() > SAME_TRANSFORM:
        return {"matrix": [float(value) for value in matrix.T.ravel()]}
    entry: dict[str, list[float]] = {}
    if np.any(matrix[:3, 3]):
        entry["translation"] = [float(value) for value in matrix[:3, 3]]
    quaternion = _quaternion(turn)
    if not np.allclose(quaternion, (0, 0, 0, 1), atol=1e-12):
        entry["rotation"] = [float(value) for value in quaternion]
    if not np.allclose(scale, 1, atol=1e-12):
        entry["scale"] = [float(value) for value in scale]
    return entry


def _quaternion(turn: Float[np.ndarray, "3 3"]) -> Float[np.ndarray, " 4"]:
    """Unit quaternion (x, y, z, w) of a rotation: top eigenvector of a symmetric matrix [BarItzhack2000]."""
    m = turn
    symmetric = np.array(
        [
            [m[0, 0] - m[1, 1] - m[2, 2], m[0, 1] + m[1, 0], m[0, 2] + m[2, 0], m[2, 1] - m[1, 2]],
            [m[0, 1] + m[1, 0], m[1, 1] - m[0, 0] - m[2, 2], m[1, 2] + m[2, 1], m[0, 2] - m[2, 0]],
            [m[0, 2] + m[2, 0], m[1, 2] + m[2, 1], m[2, 2] - m[0, 0] - m[1, 1], m[1, 0] - m[0, 1]],
            [m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1], m[0, 0] + m[1, 1] + m[2, 2]],
        ]
    )
    vector = np.linalg.eigh(symmetric)[1][:, -1]
    vector = vector if vector[3] >= 0 else -vector
    clean: Float[np.ndarray, " 4"] = np.where(np.abs(vector) < 1e-15, 0.0, vector)
    return clean
