"""A reader of GLB files of its own: what an engine sees of a garment or a body, and nothing of dressform.

Only what glTF 2.0 asks for: triangles, positions, morph targets (sparse ones too) and the matrices of nodes.
"""

import json
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

TYPES = {5120: "<i1", 5121: "<u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
WIDTH = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT4": 16}


@dataclass(frozen=True)
class Played:
    """Triangles as an engine plays them.

    Attributes:
        base: Positions, float32, (N, 3).
        faces: Corners, (F, 3).
        targets: Names of the morph targets.
        deltas: What each adds, float32, (K, N, 3).
    """

    base: np.ndarray
    faces: np.ndarray
    targets: tuple[str, ...]
    deltas: np.ndarray

    def at(self, weights: dict[str, float]) -> np.ndarray:
        """Positions as an engine blends them: one target after the other, in float32, (N, 3)."""
        points = self.base.copy()
        for name, delta in zip(self.targets, self.deltas):
            points += np.float32(weights.get(name, 0.0)) * delta
        return points


def read_played(path: Path, *, node: str | None = None) -> Played:
    """The triangles of the shown scene, in the frame of the scene; of the node of that name where one is given."""
    tree, binary = _chunks(path.read_bytes())
    scene = tree["scenes"][tree.get("scene", 0)]
    pieces = [piece for root in scene["nodes"] for piece in _pieces(tree, binary, root, np.eye(4), node)]
    names = tuple(dict.fromkeys(name for piece in pieces for name in piece.targets))
    starts = np.cumsum([0, *(len(piece.base) for piece in pieces)])
    deltas = np.zeros((len(names), starts[-1], 3), dtype=np.float32)
    for piece, start in zip(pieces, starts):
        for name, delta in zip(piece.targets, piece.deltas):
            deltas[names.index(name), start : start + len(piece.base)] = delta
    faces = np.concatenate([piece.faces + start for piece, start in zip(pieces, starts)])
    return Played(np.concatenate([piece.base for piece in pieces]), faces, names, deltas)


def _chunks(data: bytes) -> tuple[dict[str, Any], bytes]:
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    chunks, at = {}, 12
    while at < length:
        size, kind = struct.unpack_from("<I4s", data, at)
        chunks[kind] = data[at + 8 : at + 8 + size]
        at += 8 + size
    return json.loads(chunks[b"JSON"]), chunks.get(b"BIN\0", b"")


def _pieces(tree: dict[str, Any], binary: bytes, index: int, parent: np.ndarray, wanted: str | None) -> list[Played]:
    node = tree["nodes"][index]
    matrix = parent @ _matrix(node)
    found = []
    if "mesh" in node and wanted in (None, node.get("name"), tree["meshes"][node["mesh"]].get("name")):
        mesh = tree["meshes"][node["mesh"]]
        names = tuple(mesh.get("extras", {}).get("targetNames", ()))
        # A skinned mesh stands where its joints put it, not its node [glTF2 3.7.3.3].
        place = np.eye(4) if "skin" in node else matrix
        found = [_piece(tree, binary, primitive, names, place) for primitive in mesh["primitives"]]
    return found + [
        piece for child in node.get("children", ()) for piece in _pieces(tree, binary, child, matrix, wanted)
    ]


def _piece(
    tree: dict[str, Any], binary: bytes, primitive: dict[str, Any], names: tuple[str, ...], matrix: np.ndarray
) -> Played:
    assert primitive.get("mode", 4) == 4
    linear = matrix[:3, :3].astype(np.float32)
    base = _array(tree, binary, primitive["attributes"]["POSITION"]) @ linear.T + matrix[:3, 3].astype(np.float32)
    moved = [_array(tree, binary, target["POSITION"]) @ linear.T for target in primitive.get("targets", ())]
    deltas = np.array(moved, dtype=np.float32).reshape(len(moved), *base.shape)
    indices = primitive.get("indices")
    corners = np.arange(len(base)) if indices is None else _array(tree, binary, indices).ravel()
    return Played(base.astype(np.float32), corners.astype(np.int64).reshape(-1, 3), names[: len(moved)], deltas)


def _array(tree: dict[str, Any], binary: bytes, index: int) -> np.ndarray:
    accessor = tree["accessors"][index]
    kind, width, count = np.dtype(TYPES[accessor["componentType"]]), WIDTH[accessor["type"]], accessor["count"]
    if "bufferView" in accessor:
        values = _view(tree, binary, accessor, kind, width, count).copy()
    else:
        values = np.zeros((count, width), dtype=kind)
    if "sparse" in accessor:
        sparse = accessor["sparse"]
        places = _view(
            tree, binary, sparse["indices"], np.dtype(TYPES[sparse["indices"]["componentType"]]), 1, sparse["count"]
        )
        values[places.ravel()] = _view(tree, binary, sparse["values"], kind, width, sparse["count"])
    return values


def _view(
    tree: dict[str, Any], binary: bytes, entry: dict[str, Any], kind: np.dtype[Any], width: int, count: int
) -> np.ndarray:
    view = tree["bufferViews"][entry["bufferView"]]
    start, step = view.get("byteOffset", 0) + entry.get("byteOffset", 0), view.get("byteStride", kind.itemsize * width)
    return np.ndarray((count, width), dtype=kind, buffer=binary, offset=start, strides=(step, kind.itemsize))


def _matrix(node: dict[str, Any]) -> np.ndarray:
    if "matrix" in node:
        return np.array(node["matrix"], dtype=np.float64).reshape(4, 4).T
    x, y, z, w = node.get("rotation", (0.0, 0.0, 0.0, 1.0))
    turn = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    whole = np.eye(4)
    whole[:3, :3] = turn * np.array(node.get("scale", (1.0, 1.0, 1.0)))
    whole[:3, 3] = node.get("translation", (0.0, 0.0, 0.0))
    return whole
