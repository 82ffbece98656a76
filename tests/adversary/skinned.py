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

    def at(
        self,
        weights: dict[str, float],
        turns: dict[str, tuple[float, ...]],
        *,
        worlds: dict[str, np.ndarray] | None = None,
    ) -> np.ndarray:
        """Positions at morph weights, with nodes turned from rest by quaternions x, y, z, w, float32, (N, 3).

        Or with joints at `worlds`, (4, 4) by name: each node then gets its transform against the joint above, float32.
        """
        found = self._worlds(turns, {} if worlds is None else self._locals(worlds))
        matrices = np.stack([found[node] @ bind for node, bind in zip(self.nodes, self.bind)])
        blend = np.zeros((len(self.joints), 4, 4), dtype=SINGLE)
        for slot in range(self.joints.shape[1]):
            blend += self.weights[:, slot, None, None] * matrices[self.joints[:, slot]]
        above = {child: index for index, node in enumerate(self.tree["nodes"]) for child in node.get("children", ())}
        points = self.played.at({**weights, **self._driven(found, above)})
        moved = blend[:, :3, 3].copy()
        for axis in range(3):
            moved += blend[:, :3, axis] * points[:, axis, None]
        return moved

    def _locals(self, worlds: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
        """Transform of each joint's node against the one above it, by name; a joint at the top keeps its world."""
        nodes = self.tree["nodes"]
        above = {child: index for index, node in enumerate(nodes) for child in node.get("children", ())}
        names = {node: nodes[node]["name"] for node in self.nodes}
        return {
            name: np.linalg.inv(worlds[names[above[node]]]) @ worlds[name] if above.get(node) in names else worlds[name]
            for node, name in names.items()
        }

    def _driven(self, found: dict[int, np.ndarray], above: dict[int, int]) -> dict[str, float]:
        """Weights that joints set, by the table in the extras of the mesh, in float32."""
        weights = {}
        tables = [(mesh.get("extras") or {}).get("correctives", {}) for mesh in self.tree["meshes"]]
        for row in [row for table in tables for row in table.get("targets", [])]:
            local = np.linalg.inv(found[above[row["node"]]]) @ found[row["node"]]
            x, y, z, w = _quaternion(local[:3, :3] / np.linalg.norm(local[:3, :3], axis=0))
            bx, by, bz, bw = (SINGLE(value) for value in row["bind"])
            bx, by, bz = -bx, -by, -bz
            turned = np.array([
                bw * x + bx * w + by * z - bz * y, bw * y - bx * z + by * w + bz * x,
                bw * z + bx * y - by * x + bz * w, bw * w - bx * x - by * y - bz * z,
            ], dtype=SINGLE)  # fmt: skip
            turned *= SINGLE(-1 if turned[3] < 0 else 1)
            angle = 2 * np.arctan2(turned[:3] @ np.array(row["axis"], dtype=SINGLE), turned[3])
            weights[row["target"]] = float(np.interp(angle, *np.array(row["knots"], dtype=SINGLE).T))
        return weights

    def _worlds(self, turns: dict[str, tuple[float, ...]], placed: dict[str, np.ndarray]) -> dict[int, np.ndarray]:
        found: dict[int, np.ndarray] = {}
        waiting = [(root, np.eye(4, dtype=SINGLE)) for root in self.tree["scenes"][self.tree.get("scene", 0)]["nodes"]]
        while waiting:
            index, above = waiting.pop()
            node = self.tree["nodes"][index]
            local = placed.get(node.get("name", ""), _matrix(node)).astype(SINGLE)
            if node.get("name") in turns:
                local = local @ _matrix({"rotation": turns[node["name"]]}).astype(SINGLE)
            found[index] = above @ local
            waiting += [(child, found[index]) for child in node.get("children", ())]
        return found


def _quaternion(turn: np.ndarray) -> np.ndarray:
    """Of a rotation matrix, by its largest component, float32."""
    squares = np.array([1 + turn[0, 0] - turn[1, 1] - turn[2, 2], 1 - turn[0, 0] + turn[1, 1] - turn[2, 2],
                        1 - turn[0, 0] - turn[1, 1] + turn[2, 2], 1 + np.trace(turn)])  # fmt: skip
    a, b, c = turn[2, 1] - turn[1, 2], turn[0, 2] - turn[2, 0], turn[1, 0] - turn[0, 1]
    d, e, f = turn[1, 0] + turn[0, 1], turn[0, 2] + turn[2, 0], turn[2, 1] + turn[1, 2]
    rows = np.array([[squares[0], d, e, a], [d, squares[1], f, b], [e, f, squares[2], c], [a, b, c, squares[3]]])
    best = rows[int(np.argmax(squares))]
    return (best / np.linalg.norm(best)).astype(SINGLE)


def read_skinned(path: Path, *, name: str | None = None) -> Skinned:
    """The only skinned mesh of a file, or that of the node of that name; primitives one after the other."""
    tree, binary = _chunks(path.read_bytes())
    skinned = [one for one in tree["nodes"] if "mesh" in one and "skin" in one]
    (node,) = [one for one in skinned if name is None or one.get("name") == name]
    skin = tree["skins"][node["skin"]]
    primitives = [one["attributes"] for one in tree["meshes"][node["mesh"]]["primitives"]]
    joints = np.concatenate([_array(tree, binary, one["JOINTS_0"]) for one in primitives])
    weights = np.concatenate([_array(tree, binary, one["WEIGHTS_0"]) for one in primitives])
    bind = _array(tree, binary, skin["inverseBindMatrices"]).reshape(-1, 4, 4).transpose(0, 2, 1)
    assert weights.dtype == np.dtype("<f4")
    return Skinned(read_played(path, node=name), joints.astype(int), weights, skin["joints"], bind.astype(SINGLE), tree)
