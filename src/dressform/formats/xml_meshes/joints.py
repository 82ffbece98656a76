"""Nodes, joints and skins of a COLLADA document, as pycollada tells them."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from dressform.body.skeleton import Skin
from dressform.errors import FileError
from dressform.formats.gltf.reading.scene import SceneTree
from dressform.formats.gltf.reading.skins import SkinSpace, StoredSkin

try:
    import collada
except ImportError:  # an extra
    collada = None


def all_nodes(roots: list[Any]) -> Iterator[Any]:
    """Every node with a transform, below the roots given."""
    queue = list(roots)
    for node in queue:  # grows while it is walked
        if isinstance(node, collada.scene.Node):
            queue.extend(node.children)
            yield node


def nodes_of(document: Any) -> tuple[SceneTree, dict[int, str], dict[str, int]]:
    """The node tree, names by node, and nodes by all that a joint may be called (sid, id, name)."""
    tree = SceneTree({}, {})
    names: dict[int, str] = {}
    known: dict[str, int] = {}
    roots = [] if document.scene is None else document.scene.nodes
    queue: list[tuple[Any, int, Any]] = [(node, -1, np.eye(4)) for node in roots]
    for node, parent, above in queue:  # grows while it is walked: parents come first
        if not isinstance(node, collada.scene.Node) or node.xmlnode is None:
            continue
        index = len(names)
        tree.worlds[index], tree.parents[index] = above @ node.matrix.astype(np.float64), parent
        names[index] = node.name or node.id or f"joint_{index}"
        for key in (node.xmlnode.get("sid"), node.id, node.name):
            if key is not None:
                known.setdefault(key, index)
        queue.extend((child, index, tree.worlds[index]) for child in node.children)
    return tree, names, known


def stored_skin(path: Path, skin: Any, known: dict[str, int]) -> StoredSkin:
    """The joints of a skin controller as nodes.

    Raises:
        FileError: a joint is no node of the scene.
    """
    absent = [str(name) for name in skin.joint_matrices if name not in known]
    if absent:
        problem = f"has the joint {absent[0]!r}, which is no node of the scene"
        raise FileError.of(path, f"controller {skin.id}", problem, "Export the skeleton with the mesh")
    nodes = tuple(known[name] for name in skin.joint_matrices)
    return StoredSkin(nodes, np.stack([matrix.astype(np.float64) for matrix in skin.joint_matrices.values()]))


def skin_of(path: Path, skin: Any, space: SkinSpace, count: int) -> Skin:
    """Joints and weights per vertex, in the numbering of the skeleton.

    Raises:
        FileError: the skin weighs another number of vertices than its mesh has.
    """
    if len(skin.joint_index) != count:
        problem = f"weighs {len(skin.joint_index)} vertices, its mesh has {count}"
        raise FileError.of(path, f"controller {skin.id}", problem, "Export it again")
    order = {name: rank for rank, name in enumerate(skin.joint_matrices)}
    ranks = np.array([order[name] for name in skin.weight_joints])
    width = max([len(joints) for joints in skin.joint_index], default=1) or 1
    joints, weights = np.zeros((count, width), dtype=np.int64), np.zeros((count, width))
    for vertex, (chosen, given) in enumerate(zip(skin.joint_index, skin.weight_index)):
        joints[vertex, : len(chosen)] = space.joints[ranks[chosen]]
        weights[vertex, : len(chosen)] = skin.weights.data[given].ravel()
    return Skin(joints, weights)
