"""glTF skins as one skeleton, and the space in which its bodies stand [glTF2 3.7.3]."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from jaxtyping import Float, Int

from dressform.body.skeleton import Skeleton
from dressform.errors import FileError
from dressform.formats.file_mesh import local_transforms
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.reading.scene import FARTHEST, SMALLEST_VOLUME, SceneTree, distinct

SAME_MATRIX = 1e-4
SMALLEST_SCALE = 1e-12


@dataclass(frozen=True)
class SkinSpace:
    """One skin of the file.

    Attributes:
        matrix: From mesh space to the scene, as the bind pose stands there, (4, 4).
        joints: Skeleton joint of each joint of the skin, (S,).
        is_posed: Whether the nodes stand in another pose than the bind pose.
    """

    matrix: Float[np.ndarray, "4 4"]
    joints: Int[np.ndarray, " S"]
    is_posed: bool


@dataclass(frozen=True)
class StoredSkin:
    """A skin as a file has it.

    Attributes:
        nodes: Node of each joint.
        inverse_bind: From mesh space to joint space, (S, 4, 4).
    """

    nodes: tuple[int, ...]
    inverse_bind: Float[np.ndarray, "S 4 4"]


def read_skins(document: Document, tree: SceneTree) -> tuple[Skeleton | None, dict[int, SkinSpace]]:
    """The skeleton of all skins that a glTF scene uses, and each skin's space; see `bind_skins`.

    Raises:
        FileError: a skin or joint is missing or outside the scene, or counts differ.
    """
    used = sorted({skin for node in tree.mesh_nodes(document) if (skin := document.gltf.nodes[node].skin) is not None})
    names = {node: document.gltf.nodes[node].name or f"joint_{node}" for node in tree.worlds}
    return bind_skins(document.path, tree, names, {index: _read_skin(document, index, tree) for index in used})


def bind_skins(
    path: Path, tree: SceneTree, names: dict[int, str], skins: dict[int, StoredSkin]
) -> tuple[Skeleton | None, dict[int, SkinSpace]]:
    """One skeleton for several skins, and the space in which the meshes of each stand.

    In the scene a skinned vertex stands at Σ w·W·I·p (W joint world, I inverse bind), whatever its node says. W·I is
    one and the same matrix for all joints while the nodes stand in the bind pose; otherwise the root joint's is taken,
    so that a body is always read in its bind pose, on which garments are modelled.

    Raises:
        FileError: the matrices flatten all that a skin moves.
    """
    order = {node: rank for rank, node in enumerate(tree.worlds)}
    binds: list[tuple[int, Float[np.ndarray, "4 4"]]] = []
    spaces: dict[int, tuple[Float[np.ndarray, "4 4"], list[int], bool]] = {}
    for index, skin in skins.items():
        shown = np.stack([tree.worlds[node] for node in skin.nodes]) @ skin.inverse_bind
        matrix = shown[int(np.argmin([order[node] for node in skin.nodes]))]
        scale = max(float(np.abs(matrix[:3]).max()), SMALLEST_SCALE)
        is_posed = bool(np.abs(shown - matrix).max() > SAME_MATRIX * scale)
        try:
            back = np.linalg.inv(matrix)
        except np.linalg.LinAlgError:
            raise FileError.of(path, f"skin {index}", "is flattened by its root joint", "Export it again") from None
        slots = [_slot(binds, node, bind @ back) for node, bind in zip(skin.nodes, skin.inverse_bind)]
        spaces[index] = (matrix, slots, is_posed)
    if not binds:
        return None, {}
    skeleton, ranks = _skeleton(tree, names, binds, order)
    return skeleton, {key: SkinSpace(matrix, ranks[slots], posed) for key, (matrix, slots, posed) in spaces.items()}


def _read_skin(document: Document, index: int, tree: SceneTree) -> StoredSkin:
    place = f"skins[{index}]"
    if index >= len(document.gltf.skins):
        raise document.error("nodes", f"name skin {index} of {len(document.gltf.skins)}")
    skin = document.gltf.skins[index]
    absent = [node for node in skin.joints if node not in tree.worlds]
    if absent:
        raise document.error(place, f"has joint node {absent[0]}, which is not in the scene")
    if skin.inverse_bind_matrices is None:
        return StoredSkin(tuple(skin.joints), np.tile(np.eye(4), (len(skin.joints), 1, 1)))
    stored = read_floats(
        document, skin.inverse_bind_matrices, f"{place}.inverseBindMatrices", ("MAT4",), in_buffer=True
    )
    if len(stored) < len(skin.joints):
        raise document.error(place, f"has {len(stored)} inverse bind matrices for {len(skin.joints)} joints")
    inverse = stored[: len(skin.joints)].reshape(-1, 4, 4).transpose(0, 2, 1)
    worlds = np.stack([tree.worlds[node] for node in skin.joints])
    for name, matrices in (("an inverse bind matrix", inverse), ("a transform", worlds)):
        far = ~(np.abs(matrices) < FARTHEST).all(axis=(1, 2))
        if far.any():
            raise document.error(place, f"has {name} that leads out of all bounds at joint {far.argmax()}")
        flat = ~(np.abs(np.linalg.det(matrices)) > SMALLEST_VOLUME)
        if flat.any():
            raise document.error(place, f"has {name} without an inverse at joint {flat.argmax()}")
    return StoredSkin(tuple(skin.joints), inverse)


def _slot(binds: list[tuple[int, Float[np.ndarray, "4 4"]]], node: int, bind: Float[np.ndarray, "4 4"]) -> int:
    """Skeleton slot of a node with this bind; a node that two skins bind differently becomes two joints."""
    for slot, (known, other) in enumerate(binds):
        if known == node and np.abs(other - bind).max() <= SAME_MATRIX * max(float(np.abs(other).max()), 1.0):
            return slot
    binds.append((node, bind))
    return len(binds) - 1


def _skeleton(
    tree: SceneTree,
    names: dict[int, str],
    binds: list[tuple[int, Float[np.ndarray, "4 4"]]],
    order: dict[int, int],
) -> tuple[Skeleton, Int[np.ndarray, " S"]]:
    slots = sorted(range(len(binds)), key=lambda slot: order[binds[slot][0]])
    ranks = np.zeros(len(binds), dtype=np.int64)
    ranks[slots] = np.arange(len(binds))
    joint_of_node: dict[int, int] = {}
    for rank, slot in enumerate(slots):
        joint_of_node.setdefault(binds[slot][0], rank)
    nodes = [binds[slot][0] for slot in slots]
    parents = np.array([nearest_joint(tree, tree.parents[node], joint_of_node) for node in nodes], dtype=np.int64)
    worlds = np.stack([tree.worlds[node] for node in nodes])
    inverse = np.stack([binds[slot][1] for slot in slots])
    joint_names = distinct([names[node] for node in nodes])
    return Skeleton(joint_names, parents, local_transforms(worlds, parents), inverse), ranks


def joints_by_node(document: Document, spaces: dict[int, SkinSpace]) -> dict[int, int]:
    """The skeleton's joint at each node that is one."""
    return {
        node: int(joint)
        for index, space in spaces.items()
        for node, joint in zip(document.gltf.skins[index].joints, space.joints)
    }


def nearest_joint(tree: SceneTree, node: int, joint_of_node: dict[int, int]) -> int:
    """The joint at or above a node, -1 where there is none."""
    while node >= 0 and node not in joint_of_node:
        node = tree.parents[node]
    return joint_of_node.get(node, -1)
