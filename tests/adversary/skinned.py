"""Skinned meshes as an engine plays them: morphs, then joints, all in float32, by the reader of this folder."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from adversary.reader import Played, _array, _chunks, _matrix, read_played

SINGLE = np.float32


@dataclass(frozen=True)
class Skinned:
    """A mesh with joints.

    Attributes:
        played: Its triangles and targets.
        joints: Joint of each slot, (N, W).
        weights: Joint weights, float32, (N, W).
        nodes: Node of each joint.
        bind: Inverse bind matrices, float32, (J, 4, 4).
        tree: The file's JSON.
    """

    played: Played
    joints: np.ndarray
    weights: np.ndarray
    nodes: list[int]
    bind: np.ndarray
    tree: dict[str, Any]

    def at(self, weights: dict[str, float], turns: dict[str, tuple[float, ...]]) -> np.ndarray:
        """Positions at morph weights, with nodes turned from rest by quaternions x, y, z, w, float32, (N, 3)."""
        worlds = self._worlds(turns)
        matrices = np.stack([worlds[node] @ bind for node, bind in zip(self.nodes, self.bind)])
        blend = np.zeros((len(self.joints), 4, 4), dtype=SINGLE)
        for slot in range(self.joints.shape[1]):
            blend += self.weights[:, slot, None, None] * matrices[self.joints[:, slot]]
        points = self.played.at(weights)
        moved = blend[:, :3, 3].copy()
        for axis in range(3):
            moved += blend[:, :3, axis] * points[:, axis, None]
        return moved

    def _worlds(self, turns: dict[str, tuple[float, ...]]) -> dict[int, np.ndarray]:
        found: dict[int, np.ndarray] = {}
        waiting = [(root, np.eye(4, dtype=SINGLE)) for root in self.tree["scenes"][self.tree.get("scene", 0)]["nodes"]]
        while waiting:
            index, above = waiting.pop()
            node = self.tree["nodes"][index]
            local = _matrix(node).astype(SINGLE)
            if node.get("name") in turns:
                local = local @ _matrix({"rotation": turns[node["name"]]}).astype(SINGLE)
            found[index] = above @ local
            waiting += [(child, found[index]) for child in node.get("children", ())]
        return found


def read_skinned(path: Path) -> Skinned:
    """The only skinned mesh of a file; primitives one after the other, as `read_played` lays them out."""
    tree, binary = _chunks(path.read_bytes())
    (node,) = [one for one in tree["nodes"] if "mesh" in one and "skin" in one]
    skin = tree["skins"][node["skin"]]
    primitives = [one["attributes"] for one in tree["meshes"][node["mesh"]]["primitives"]]
    joints = np.concatenate([_array(tree, binary, one["JOINTS_0"]) for one in primitives])
    weights = np.concatenate([_array(tree, binary, one["WEIGHTS_0"]) for one in primitives])
    bind = _array(tree, binary, skin["inverseBindMatrices"]).reshape(-1, 4, 4).transpose(0, 2, 1)
    assert weights.dtype == np.dtype("<f4")
    return Skinned(read_played(path), joints.astype(int), weights, skin["joints"], bind.astype(SINGLE), tree)
