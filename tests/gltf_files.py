"""Small glTF files for tests, built from arrays."""

import base64
import json
import struct
from pathlib import Path
from typing import Any

import numpy as np

CODES = {"i1": 5120, "u1": 5121, "i2": 5122, "u2": 5123, "u4": 5125, "f4": 5126}
KINDS = {1: "SCALAR", 2: "VEC2", 3: "VEC3", 4: "VEC4", 16: "MAT4"}

CUBE = np.array([[x, y, z] for x in (0.0, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)], dtype="<f4")
CUBE_SIDES = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
CUBE_FACES = np.array([face for a, b, c, d in CUBE_SIDES for face in ((a, b, c), (a, c, d))], dtype="<u2")


class Gltf:
    """A glTF in the making: `tree` is its JSON, to be changed at will."""

    def __init__(self) -> None:
        self.tree: dict[str, Any] = {"asset": {"version": "2.0"}, "accessors": [], "bufferViews": []}
        self.binary = bytearray()

    def view(self, data: bytes, **more: Any) -> int:
        self.binary.extend(bytes(-len(self.binary) % 4))
        entry = {"buffer": 0, "byteOffset": len(self.binary), "byteLength": len(data), **more}
        self.binary.extend(data)
        self.tree["bufferViews"].append(entry)
        return len(self.tree["bufferViews"]) - 1

    def accessor(self, values: Any, code: str = "f4", **more: Any) -> int:
        stored = np.asarray(values, dtype="<" + code)
        stored = stored.reshape(len(stored), -1)
        entry = {
            "bufferView": self.view(stored.tobytes()),
            "componentType": CODES[code],
            "count": len(stored),
            "type": KINDS[stored.shape[1]],
            **more,
        }
        self.tree["accessors"].append({key: value for key, value in entry.items() if value is not None})
        return len(self.tree["accessors"]) - 1

    def glb(self) -> bytes:
        tree = dict(self.tree)
        if self.binary:
            tree.setdefault("buffers", [{"byteLength": len(self.binary)}])
        text = json.dumps(tree).encode()
        text += b" " * (-len(text) % 4)
        binary = bytes(self.binary) + bytes(-len(self.binary) % 4)
        body = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(binary), 0x004E4942) + binary
        return struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body

    def save(self, path: Path) -> Path:
        path.write_bytes(self.glb())
        return path

    def data_uri(self) -> str:
        return "data:application/octet-stream;base64," + base64.b64encode(bytes(self.binary)).decode()


def cube(*, scale: float = 1.0, **primitive: Any) -> Gltf:
    """A cube of one mesh and one node; `primitive` adds to its only primitive."""
    made = Gltf()
    bounds = {"min": [0.0] * 3, "max": [float(np.float32(scale))] * 3}
    attributes = {"POSITION": made.accessor(CUBE * scale, **bounds)}
    indices = made.accessor(CUBE_FACES.reshape(-1, 1), "u2")
    made.tree["meshes"] = [{"primitives": [{"attributes": attributes, "indices": indices, **primitive}]}]
    made.tree["nodes"] = [{"mesh": 0, "name": "cube"}]
    made.tree["scenes"] = [{"nodes": [0]}]
    return made
