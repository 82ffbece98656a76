"""The body's skeleton in a fitted garment, and where its meshes must stand to follow it."""

from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skeleton
from dressform.formats.gltf.animations import retarget_expressions, retarget_weights
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.morphs.targets import add_skeleton, add_skin, transform_entry

FRAME_NAME = "metres, +Y up"
FACING_NAME = "facing"
MESH_KEYS = ("mesh", "weights", "skin")
TRANSFORM_KEYS = ("matrix", "translation", "rotation", "scale")


class Rig:
    """The body's joints, added once, and one skin per distinct space of a mesh."""

    def __init__(
        self, builder: Builder, skeleton: Skeleton, scene: dict[str, Any], facing: Float[np.ndarray, "3 3"]
    ) -> None:
        """Add the joints to the scene, turned by `facing`, a rotation."""
        self.builder = builder
        self.skeleton = skeleton
        self.scene = scene
        self.joints, roots = add_skeleton(builder, skeleton)
        if not np.array_equal(facing, np.eye(3)):
            roots = [builder.add("nodes", {"name": FACING_NAME, "children": roots, **_linear_entry(facing)})]
        scene["nodes"].extend(roots)
        self._skins: dict[bytes, int] = {}

    def bind(self, node: int, matrix: Float[np.ndarray, "4 4"]) -> int:
        """Skin the mesh of a node; the node that holds it now.

        A skinned mesh stands where its joints put it, whatever its node says [glTF2 3.7.3.3]: so the node's transform
        goes into the inverse bind matrices, and the mesh moves to a node of its own at the root unless it is there.
        """
        key = matrix.tobytes()
        if key not in self._skins:
            self._skins[key] = add_skin(self.builder, self.skeleton, self.joints, matrix)
        entry = self.builder.table("nodes")[node]
        is_free = node in self.scene["nodes"] and not any(name in entry for name in (*TRANSFORM_KEYS, "children"))
        if not is_free:
            moved: dict[str, Any] = {"name": entry["name"]} if "name" in entry else {}
            moved |= {name: entry.pop(name) for name in MESH_KEYS if name in entry}
            old_node, node = node, self.builder.add("nodes", moved)
            retarget_weights(self.builder, old_node=old_node, new_node=node)
            retarget_expressions(self.builder, old_node=old_node, new_node=node)
            self.scene["nodes"].append(node)
            entry = moved
        entry["skin"] = self._skins[key]
        return node


def shown_scene(builder: Builder) -> dict[str, Any]:
    """The scene that the file shows first; made of all root nodes where the file has none."""
    scenes = builder.table("scenes")
    if not scenes:
        nodes = builder.table("nodes")
        children = {child for node in nodes for child in node.get("children", ())}
        builder.add("scenes", {"nodes": [index for index in range(len(nodes)) if index not in children]})
    builder.json["scene"] = builder.json.get("scene") or 0
    found: dict[str, Any] = scenes[builder.json["scene"]]
    found.setdefault("nodes", [])
    return found


def add_frame(builder: Builder, scene: dict[str, Any], linear: Float[np.ndarray, "3 3"]) -> None:
    """Put the whole scene under one node that turns the file's units and axes into metres, +Y up."""
    if np.array_equal(linear, np.eye(3)):
        return
    frame = builder.add("nodes", {"name": FRAME_NAME, "children": scene["nodes"], **_linear_entry(linear)})
    scene["nodes"] = [frame]


def _linear_entry(linear: Float[np.ndarray, "3 3"]) -> dict[str, list[float]]:
    """The transform of a node that scales and turns about the origin."""
    matrix = np.eye(4)
    matrix[:3, :3] = linear
    return transform_entry(matrix)
