"""A file whose buffer views are compressed one by one."""

import json
import struct
from typing import Any

import numpy as np
from jaxtyping import Int, UInt8

from dressform.errors import ArgumentError
from dressform.formats.gltf.document import BINARY_CHUNK, GLB_MAGIC, GLB_VERSION, HEADER_BYTES, JSON_CHUNK
from dressform.formats.gltf.meshopt.attributes import encode_attributes
from dressform.formats.gltf.meshopt.filters import NONE
from dressform.formats.gltf.meshopt.indices import encode_triangles
from dressform.formats.gltf.meshopt.views import ATTRIBUTES, EXTENSION, TRIANGLES

ALIGNMENT = 4


class CompressedBuffers:
    """Buffer views in the making: each is stored compressed, or as it is where that is no longer.

    Buffer 0 holds what is stored; buffer 1 stands for what will be there once it is decoded, and has no bytes.
    """

    def __init__(self) -> None:
        self.views: list[dict[str, Any]] = []
        self._binary = bytearray()
        self._decoded_bytes = 0

    def add_bytes(self, data: bytes, **more: Any) -> int:
        """Bytes as they are, such as a picture's."""
        self.views.append({"buffer": 0, "byteOffset": self._store(data), "byteLength": len(data), **more})
        return len(self.views) - 1

    def add_rows(
        self, rows: UInt8[np.ndarray, "N S"], *, decoded: UInt8[np.ndarray, "N S"], name: str = NONE, **more: Any
    ) -> int:
        """Rows of bytes; `decoded` is what they are once the filter of that name has been applied."""
        stored = encode_attributes(np.ascontiguousarray(rows))
        if len(stored) >= decoded.nbytes:
            return self.add_bytes(decoded.tobytes(), byteStride=rows.shape[1], **more)
        how = {"mode": ATTRIBUTES} | ({} if name == NONE else {"filter": name})
        count, stride = rows.shape
        return self._compressed(stored, count, stride, how, {"byteStride": stride, **more})

    def add_matrices(self, rows: UInt8[np.ndarray, "N S"], **more: Any) -> int:
        """Rows of bytes that are no vertices, so that their view tells no stride."""
        stored = encode_attributes(rows)
        if len(stored) >= rows.nbytes:
            return self.add_bytes(rows.tobytes(), **more)
        count, stride = rows.shape
        return self._compressed(stored, count, stride, {"mode": ATTRIBUTES}, more)

    def add_triangles(self, faces: Int[np.ndarray, "F 3"], *, size: int, **more: Any) -> int:
        """Indices of triangles, each of `size` bytes once decoded."""
        return self._compressed(encode_triangles(faces), faces.size, size, {"mode": TRIANGLES}, more)

    def glb(self, tree: dict[str, Any]) -> bytes:
        """The finished file, with these buffer views in the place of what the JSON had.

        Raises:
            ArgumentError: it would exceed the 4 GiB that a GLB can hold.
        """
        tree = tree | {"bufferViews": self.views, "buffers": [{"byteLength": len(self._binary)}]}
        if self._decoded_bytes:
            fallback = {EXTENSION: {"fallback": True}}
            tree["buffers"].append({"byteLength": self._decoded_bytes, "extensions": fallback})
            for key in ("extensionsUsed", "extensionsRequired"):
                tree[key] = [*tree.get(key, ()), EXTENSION]
        text = json.dumps(tree, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()
        text += b" " * (-len(text) % ALIGNMENT)
        binary = bytes(self._binary) + bytes(-len(self._binary) % ALIGNMENT)
        chunks = struct.pack("<II", len(text), JSON_CHUNK) + text
        chunks += struct.pack("<II", len(binary), BINARY_CHUNK) + binary
        total = HEADER_BYTES + len(chunks)
        if total >= 2**32:
            raise ArgumentError.of("optimise", "document", "under 4 GiB in all", f"{total:,} bytes", "Split the mesh")
        return struct.pack("<4sII", GLB_MAGIC, GLB_VERSION, total) + chunks

    def _compressed(self, stored: bytes, count: int, stride: int, how: dict[str, Any], more: dict[str, Any]) -> int:
        told = {
            "buffer": 0,
            "byteOffset": self._store(stored),
            "byteLength": len(stored),
            "byteStride": stride,
            "count": count,
            **how,
        }
        self._decoded_bytes += -self._decoded_bytes % ALIGNMENT
        view = {"buffer": 1, "byteOffset": self._decoded_bytes, "byteLength": count * stride, **more}
        self._decoded_bytes += count * stride
        self.views.append(view | {"extensions": {EXTENSION: told}})
        return len(self.views) - 1

    def _store(self, data: bytes) -> int:
        self._binary.extend(bytes(-len(self._binary) % ALIGNMENT))
        self._binary.extend(data)
        return len(self._binary) - len(data)
