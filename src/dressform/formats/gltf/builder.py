"""A glTF under construction: a JSON that may be changed and one growing binary chunk."""

import copy
import json
import struct
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import ArgumentError
from dressform.formats.gltf.accessors import FLOAT, UNSIGNED_BYTE, UNSIGNED_INT, UNSIGNED_SHORT
from dressform.formats.gltf.document import (
    BINARY_CHUNK,
    GLB_MAGIC,
    GLB_VERSION,
    HEADER_BYTES,
    JSON_CHUNK,
    Document,
)

VERTEX_TARGET, INDEX_TARGET = 34962, 34963
ALIGNMENT = 4
MAX_GLB_BYTES = 2**32 - 1
KINDS = {1: "SCALAR", 2: "VEC2", 3: "VEC3", 4: "VEC4", 16: "MAT4"}
# What two more buffer views and the sparse part cost in JSON; below that gain, dense is smaller.
SPARSE_OVERHEAD_BYTES = 240
TARGET_BYTES = 12  # three float32


class Builder:
    """Appends to a glTF; what is there already keeps its index, its bytes and its unknown keys.

    Attributes:
        json: The JSON that will be written.
    """

    def __init__(self, tree: dict[str, Any], binary: bytes = b"") -> None:
        self.json = copy.deepcopy(tree)
        self._binary = bytearray(binary)
        self._zeros: tuple[int, int] | None = None

    @classmethod
    def of(cls, document: Document) -> "Builder":
        """The document with all its buffers joined into one binary chunk; every buffer view keeps its bytes."""
        builder = cls(document.json)
        starts = [builder._append(data[: buffer.byte_length]) for data, buffer in _buffers(document)]
        for view in builder.table("bufferViews"):
            view["byteOffset"] = view.get("byteOffset", 0) + starts[view["buffer"]]
            view["buffer"] = 0
        return builder

    def table(self, key: str) -> list[dict[str, Any]]:
        """A top-level array of the JSON; made where it is missing (and dropped again while empty)."""
        found: list[dict[str, Any]] = self.json.setdefault(key, [])
        return found

    def add(self, key: str, entry: dict[str, Any]) -> int:
        """Append to a top-level array; the new index."""
        self.table(key).append(entry)
        return len(self.table(key)) - 1

    def add_view(self, data: bytes, *, target: int | None = None) -> int:
        """Append bytes as a buffer view."""
        view: dict[str, Any] = {"buffer": 0, "byteOffset": self._append(data), "byteLength": len(data)}
        if target is not None:
            view["target"] = target
        return self.add("bufferViews", view)

    def add_floats(self, values: Float[np.ndarray, "N W"], *, bounds: bool = False) -> int:
        """Append a dense float32 vertex attribute."""
        stored = values.astype("<f4")
        accessor = {
            "bufferView": self.add_view(stored.tobytes(), target=VERTEX_TARGET),
            **_described(FLOAT, stored, bounds=bounds),
        }
        return self.add("accessors", accessor)

    def add_values(self, values: Float[np.ndarray, "N W"]) -> int:
        """Append dense float32 values that are no vertex attribute (animation output)."""
        stored = values.astype("<f4")
        view = self.add_view(stored.tobytes())
        return self.add("accessors", {"bufferView": view, **_described(FLOAT, stored, bounds=False)})

    def add_target(
        self, deltas: Float[np.ndarray, "N 3"], *, threshold: float, bounds: bool, sparse: bool = True
    ) -> int:
        """Append displacements: sparse where that is smaller; rows within `threshold` of zero are left out then.

        Where `sparse` is false, only what is zero throughout is left out.

        What is zero throughout lies in a view of zeros that all such targets share: glTF would take zeros where no view
        is named [glTF2 3.6.2.3], but readers are known that refuse such an accessor. A sparse target names no view: a
        widespread engine writes the sparse values of one accessor into the view, where all others find them.
        """
        stored = deltas.astype("<f4")
        rows = np.flatnonzero(np.abs(deltas).max(axis=1) > threshold)
        index_type, index_code = _index_type(len(stored))
        sparse_bytes = len(rows) * (stored.itemsize * stored.shape[1] + index_type.itemsize) + SPARSE_OVERHEAD_BYTES
        if len(rows) and (not sparse or sparse_bytes >= stored.nbytes):
            return self.add_floats(deltas, bounds=bounds)
        kept = np.zeros_like(stored)
        kept[rows] = stored[rows]
        accessor = _described(FLOAT, kept, bounds=bounds)
        if not len(rows):
            accessor["bufferView"] = self._zero_view(kept.nbytes)
        else:
            accessor["sparse"] = {
                "count": len(rows),
                "indices": {
                    "bufferView": self.add_view(rows.astype(index_type).tobytes()),
                    "componentType": index_code,
                },
                "values": {"bufferView": self.add_view(stored[rows].tobytes())},
            }
        return self.add("accessors", accessor)

    def add_indices(self, faces: Int[np.ndarray, "F 3"], vertex_count: int) -> int:
        """Append triangle indices in the smallest type that GPUs like (two or four bytes)."""
        dtype, code = (np.dtype("<u2"), UNSIGNED_SHORT) if vertex_count < 2**16 else (np.dtype("<u4"), UNSIGNED_INT)
        stored = faces.reshape(-1, 1).astype(dtype)
        view = self.add_view(stored.tobytes(), target=INDEX_TARGET)
        return self.add("accessors", {"bufferView": view, **_described(code, stored, bounds=False)})

    def add_joints(self, joints: Int[np.ndarray, "N 4"], joint_count: int) -> int:
        """Append joint indices."""
        dtype, code = (np.dtype("u1"), UNSIGNED_BYTE) if joint_count <= 2**8 else (np.dtype("<u2"), UNSIGNED_SHORT)
        stored = joints.astype(dtype)
        view = self.add_view(stored.tobytes(), target=VERTEX_TARGET)
        return self.add("accessors", {"bufferView": view, **_described(code, stored, bounds=False)})

    def add_matrices(self, matrices: Float[np.ndarray, "N 4 4"]) -> int:
        """Append 4×4 matrices, column by column as glTF stores them, the last row exactly (0, 0, 0, 1)."""
        stored = matrices.transpose(0, 2, 1).reshape(-1, 16).astype("<f4")
        stored[:, 3::4] = (0.0, 0.0, 0.0, 1.0)
        view = self.add_view(stored.tobytes())
        return self.add("accessors", {"bufferView": view, **_described(FLOAT, stored, bounds=False)})

    def _zero_view(self, size: int) -> int:
        """A vertex attribute view of `size` zero bytes or more."""
        if self._zeros is None or self._zeros[1] < size:
            self._zeros = self.add_view(bytes(size), target=VERTEX_TARGET), size
            self.table("bufferViews")[-1]["byteStride"] = TARGET_BYTES  # several accessors read it [glTF2 3.6.2.4]
        return self._zeros[0]

    def glb(self) -> bytes:
        """The finished file.

        Raises:
            ArgumentError: it would exceed the 4 GiB that a GLB can hold.
        """
        tree = {key: value for key, value in self.json.items() if value != []}
        if self._binary:
            tree["buffers"] = [{"byteLength": len(self._binary)}]
        text = json.dumps(tree, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()
        text += b" " * (-len(text) % ALIGNMENT)
        binary = bytes(self._binary) + bytes(-len(self._binary) % ALIGNMENT)
        chunks = struct.pack("<II", len(text), JSON_CHUNK) + text
        if binary:
            chunks += struct.pack("<II", len(binary), BINARY_CHUNK) + binary
        total = HEADER_BYTES + len(chunks)
        if total > MAX_GLB_BYTES:
            raise ArgumentError.of("Builder.glb", "json", "under 4 GiB in all", f"{total:,} bytes", "Split the mesh")
        return struct.pack("<4sII", GLB_MAGIC, GLB_VERSION, total) + chunks

    def _append(self, data: bytes) -> int:
        self._binary.extend(bytes(-len(self._binary) % ALIGNMENT))
        start = len(self._binary)
        self._binary.extend(data)
        return start


def _buffers(document: Document) -> list[tuple[bytes, Any]]:
    return list(zip(document.buffers, document.gltf.buffers))


def _index_type(count: int) -> tuple[np.dtype[Any], int]:
    if count <= 2**8:
        return np.dtype("u1"), UNSIGNED_BYTE
    return (np.dtype("<u2"), UNSIGNED_SHORT) if count <= 2**16 else (np.dtype("<u4"), UNSIGNED_INT)


def _described(code: int, stored: np.ndarray, *, bounds: bool) -> dict[str, Any]:
    entry: dict[str, Any] = {"componentType": code, "count": len(stored), "type": KINDS[stored.shape[1]]}
    if bounds:
        entry["min"] = [float(value) for value in stored.min(axis=0)]
        entry["max"] = [float(value) for value in stored.max(axis=0)]
    return entry
