"""The node tree of a glTF scene: which meshes stand where [glTF2 3.5]."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.formats.gltf.document import Document
from dressform.formats.gltf.schema import Node
from dressform.formats.guards.file_names import stem_of

FARTHEST = 1e9
"""Largest entry of a transform, in units of the file; beyond, products of transforms leave the range of numbers."""
SMALLEST_VOLUME = 1e-21
"""Smallest volume to which a transform may shrink a unit of volume; below, it has no inverse to compute with."""


@dataclass(frozen=True)
class SceneTree:
    """World transforms and parents of the nodes that one scene reaches.

    Attributes:
        worlds: World transform by node, each (4, 4).
        parents: Parent by node; -1 at the roots. A parent precedes its children.
        chosen: The nodes whose meshes are looked at; None for all.
    """

    worlds: dict[int, Float[np.ndarray, "4 4"]]
    parents: dict[int, int]
    chosen: frozenset[int] | None = None

    def mesh_nodes(self, document: Document) -> list[int]:
        """Nodes that hold a mesh and are looked at, parents first."""
        shown = [node for node in self.worlds if document.gltf.nodes[node].mesh is not None]
        return shown if self.chosen is None else [node for node in shown if node in self.chosen]

    def below(self, top: int) -> list[int]:
        """A node and all that hang from it."""
        found = {top}
        for node, parent in self.parents.items():  # a parent precedes its children
            if parent in found:
                found.add(node)
        return sorted(found)


def scene_names(document: Document) -> tuple[str, ...]:
    """One name per scene, distinct; a file without scenes is one scene named after the file."""
    scenes = document.gltf.scenes
    if not scenes:
        return (stem_of(document.path),)
    alone = [stem_of(document.path)] if len(scenes) == 1 else [f"scene_{index}" for index in range(len(scenes))]
    return distinct([scene.name or fallback for scene, fallback in zip(scenes, alone)])


def walk(document: Document, scene: int) -> SceneTree:
    """All nodes of a scene with their world transforms.

    Raises:
        FileError: a node is missing, is reached twice (its own ancestor, or two parents), or has a transform that is
            broken or leads farther than `FARTHEST`.
    """
    tree = SceneTree({}, {})
    queue = [(root, -1, np.eye(4)) for root in _roots(document, scene)]
    for index, parent, above in queue:  # grows while it is walked: parents come first
        place = f"nodes[{index}]"
        if index >= len(document.gltf.nodes):
            place = "scenes" if parent < 0 else f"nodes[{parent}].children"
            raise document.error(place, f"names node {index} of {len(document.gltf.nodes)}")
        if index in tree.worlds:
            raise document.error(place, "is reached twice: it is its own ancestor or has two parents")
        node = document.gltf.nodes[index]
        with np.errstate(over="ignore", invalid="ignore"):
            world = above @ local_matrix(document, node, place)
        if not (np.abs(world) < FARTHEST).all():
            raise document.error(place, "has a transform that leads out of all bounds")
        tree.worlds[index] = world
        tree.parents[index] = parent
        queue.extend((child, index, tree.worlds[index]) for child in node.children)
    return tree


def _roots(document: Document, scene: int) -> list[int]:
    if document.gltf.scenes:
        return document.gltf.scenes[scene].nodes
    children = {child for node in document.gltf.nodes for child in node.children}
    roots = [index for index in range(len(document.gltf.nodes)) if index not in children]
    if document.gltf.nodes and not roots:
        raise document.error("nodes", "have no root: every node is the child of another")
    return roots


def local_matrix(document: Document, node: Node, place: str) -> Float[np.ndarray, "4 4"]:
    """Transform of a node relative to its parent, from its matrix or from translation, rotation and scale.

    Raises:
        FileError: a number is not finite, or the rotation has no length.
    """
    matrix = np.eye(4)
    if node.matrix is not None:
        matrix = np.array(node.matrix).reshape(4, 4).T
    else:
        if node.rotation is not None:
            matrix[:3, :3] = _rotation(document, node.rotation, place)
        matrix[:3, :3] *= np.array(node.scale or (1.0, 1.0, 1.0))
        matrix[:3, 3] = node.translation or (0.0, 0.0, 0.0)
    if not np.isfinite(matrix).all():
        raise document.error(place, "has a transform that is not finite")
    return matrix


def _rotation(document: Document, quaternion: list[float], place: str) -> Float[np.ndarray, "3 3"]:
    x, y, z, w = quaternion
    size = float(np.hypot(np.hypot(x, y), np.hypot(z, w)))
    if not np.isfinite(size) or size == 0:
        raise document.error(place, f"has the rotation {quaternion}, which is no unit quaternion")
    x, y, z, w = x / size, y / size, z / size, w / size
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def distinct(names: list[str]) -> tuple[str, ...]:
    """The names, with `_2`, `_3` … after those that came before."""
    taken: set[str] = set()
    result: list[str] = []
    for name in names:
        candidate, number = name, 1
        while candidate in taken:
            number += 1
            candidate = f"{name}_{number}"
        taken.add(candidate)
        result.append(candidate)
    return tuple(result)
