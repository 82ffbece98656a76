"""A file written anew: each accessor rounded and compressed according to what it is used for."""

import copy
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.formats.gltf.accessors import (
    BYTE,
    COMPONENTS,
    FLOAT,
    SHORT,
    UNSIGNED_INT,
    UNSIGNED_SHORT,
    WIDTHS,
    read_floats,
    read_integers,
    read_raw,
)
from dressform.formats.gltf.builder import INDEX_TARGET, VERTEX_TARGET
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.meshopt.filters import EXPONENTIAL, OCTAHEDRAL, folded, on_grid, unfiltered
from dressform.formats.gltf.meshopt.order import first_use, neighbouring_order
from dressform.formats.gltf.meshopt.writer import CompressedBuffers
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.reading.bases import default_scene
from dressform.formats.gltf.schema import Primitive

BASE_BITS = 3
"""The base lies on a grid so many powers of two finer than that of the targets: it is stored once, they many times."""
QUANTIZATION = "KHR_mesh_quantization"
TRIANGLE_LIST = 4
NORMAL_BITS = 11
"""A normal is off by at most 0.1 degrees."""
TEXTURE_EXPONENT = -15
"""Texture coordinates are off by at most a 32nd of a pixel of a picture of 2,048."""


class FileRewriter:
    """Writes each accessor of a file anew, rounded and compressed according to what it is used for."""

    def __init__(self, document: Document, exponent: int) -> None:
        self.document = document
        self.exponent = exponent
        self.buffers = CompressedBuffers()
        self.tree: dict[str, Any] = copy.deepcopy(document.json)
        self.accessors: list[dict[str, Any]] = [{} for _ in document.gltf.accessors]
        self.quantized = False
        self.orders, self.triangles = self._orders()

    def glb(self) -> bytes:
        """The file."""
        exponents = self._local_exponents()
        for index, mesh in enumerate(self.document.gltf.meshes):
            exponent = exponents.get(index, self.exponent)
            for primitive in mesh.primitives:
                for name, accessor in primitive.attributes.items():
                    self._attribute(accessor, name, exponent)
                for target in primitive.targets:
                    for name, accessor in target.items():
                        self._target(accessor, name, exponent)
                if primitive.indices is not None:
                    self._indices(primitive.indices, primitive.mode)
        for index, done in enumerate(self.accessors):
            if not done:
                self._as_it_is(index)
        for image in self.tree.get("images", ()):
            if "bufferView" in image:
                image["bufferView"] = self.buffers.add_bytes(self._view_bytes(image["bufferView"]))
        self.tree["accessors"] = self.accessors
        if self.quantized:
            for key in ("extensionsUsed", "extensionsRequired"):
                self.tree[key] = sorted({*self.tree.get(key, ()), QUANTIZATION})
        return self.buffers.glb(self.tree)

    def _orders(self) -> tuple[dict[int, Int[np.ndarray, " N"]], dict[int, Int[np.ndarray, "F 3"]]]:
        """The order of the rows of each accessor of vertices, and the triangles that go with it, by their accessors.

        A primitive keeps its order where it shares vertices or triangles with another, or is no list of triangles.
        """
        primitives = [one for mesh in self.document.gltf.meshes for one in mesh.primitives]
        users: dict[int, set[int]] = {}
        for number, one in enumerate(primitives):
            for index in _accessors_of(one):
                users.setdefault(index, set()).add(number)
        orders: dict[int, Int[np.ndarray, " N"]] = {}
        triangles: dict[int, Int[np.ndarray, "F 3"]] = {}
        for one in primitives:
            alone = all(len(users[index]) == 1 or self._is_zero(index) for index in _accessors_of(one))
            if one.indices is None or one.mode != TRIANGLE_LIST or not alone:
                continue
            values = read_integers(self.document, one.indices, "", ("SCALAR",))
            if not len(values) or len(values) % 3:
                continue
            faces = values.reshape(-1, 3)
            faces = faces[neighbouring_order(faces)]
            order = first_use(faces, self.document.gltf.accessors[one.attributes["POSITION"]].count)
            places = np.zeros(len(order), dtype=np.int64)
            places[order] = np.arange(len(order))
            triangles[one.indices] = places[faces]
            orders |= {index: order for index in _accessors_of(one) if index != one.indices}
        return orders, triangles

    def _is_zero(self, index: int) -> bool:
        """Whether an accessor holds zeros alone, so that their order does not matter."""
        entry = self.document.json["accessors"][index]
        return "sparse" not in entry and entry.get("min") == entry.get("max") == [0.0, 0.0, 0.0]

    def _read(self, index: int, types: tuple[str, ...]) -> Float[np.ndarray, "N W"]:
        values = read_floats(self.document, index, "", types)
        return values[self.orders[index]] if index in self.orders else values

    def _local_exponents(self) -> dict[int, int]:
        """The grid of each mesh in its own units: a mesh in centimetres has one a hundred times as wide in numbers."""
        scene = read_scene(self.document, default_scene(self.document))
        found: dict[int, int] = {}
        for piece in scene.pieces:
            scale = float(np.linalg.norm(piece.matrix[:3, :3], 2))
            own = self.exponent - int(np.ceil(np.log2(scale) - 1e-9))
            found[piece.mesh] = min(own, found.get(piece.mesh, own))
        return found

    def _attribute(self, index: int, name: str, exponent: int) -> None:
        if self.accessors[index]:
            return
        if name == "POSITION":
            self._floats(index, exponent - BASE_BITS, bounds=True)
        elif name.startswith("WEIGHTS_") and self._type(index) == FLOAT:
            self._weights(index)
        elif name.startswith("TEXCOORD_") and self._type(index) == FLOAT:
            self._floats(index, TEXTURE_EXPONENT, bounds=False)
        elif name in ("NORMAL", "TANGENT") and self._type(index) == FLOAT:
            self._directions(index)
        else:
            self._as_it_is(index, target=VERTEX_TARGET)

    def _target(self, index: int, name: str, exponent: int) -> None:
        if self.accessors[index]:
            return
        if name == "POSITION":
            self._floats(index, exponent, bounds=True)
        elif name in ("NORMAL", "TANGENT") and self._type(index) == FLOAT:
            self._turns(index)
        else:
            self._as_it_is(index, target=VERTEX_TARGET)

    def _floats(self, index: int, exponent: int, *, bounds: bool) -> None:
        """Coordinates on a grid, as fine as 24 bits allow where the numbers are too large for it."""
        values = self._read(index, ("VEC2", "VEC3"))
        while True:
            try:
                rows = on_grid(values, exponent)
                break
            except ValueError:
                exponent += 1
        decoded = unfiltered(rows, EXPONENTIAL)
        view = self.buffers.add_rows(rows, decoded=decoded, name=EXPONENTIAL, target=VERTEX_TARGET)
        self._set(index, view, FLOAT, decoded.view("<f4"), bounds=bounds)

    def _turns(self, index: int) -> None:
        """The change of directions in bytes, where none is longer than a byte can say; it may be up to 2 long."""
        values = self._read(index, ("VEC3",))
        if np.abs(values).max(initial=0.0) > 1.0:
            self._as_it_is(index, target=VERTEX_TARGET)
            return
        stored = np.zeros((len(values), 4), dtype=np.int8)
        stored[:, :3] = np.rint(values * np.iinfo(np.int8).max)
        rows = stored.view(np.uint8)
        view = self.buffers.add_rows(rows, decoded=rows, target=VERTEX_TARGET)
        self._set(index, view, BYTE, stored[:, :3], normalized=True)
        self.quantized = True

    def _directions(self, index: int) -> None:
        """Unit vectors in 16 bits, of which `NORMAL_BITS` are told."""
        values = self._read(index, ("VEC3", "VEC4"))
        last = values[:, 3] if values.shape[1] > 3 else np.zeros(len(values))
        rows = folded(values[:, :3], last, bits=NORMAL_BITS)
        decoded = unfiltered(rows, OCTAHEDRAL)
        view = self.buffers.add_rows(rows, decoded=decoded, name=OCTAHEDRAL, target=VERTEX_TARGET)
        self._set(index, view, SHORT, decoded.view("<i2"), normalized=True)
        self.quantized = True

    def _weights(self, index: int) -> None:
        """Joint weights in 16 bits whose sum is exactly 1."""
        values = self._read(index, ("VEC4",))
        top = np.iinfo(np.uint16).max
        stored = np.rint(values * top).astype(np.int64)
        largest = stored.argmax(axis=1)
        sums = values.sum(axis=1, keepdims=True)
        whole = np.abs(sums[:, 0] - 1.0) < 1e-3  # a set of several shares its sum with the others
        stored[np.arange(len(stored)), largest] += np.where(whole, top - stored.sum(axis=1), 0)
        kept = np.ascontiguousarray(np.clip(stored, 0, top).astype("<u2"))
        rows = kept.view(np.uint8).reshape(len(kept), -1)
        view = self.buffers.add_rows(rows, decoded=rows, target=VERTEX_TARGET)
        self._set(index, view, UNSIGNED_SHORT, kept, normalized=True)

    def _indices(self, index: int, mode: int) -> None:
        if self.accessors[index]:
            return
        values = read_integers(self.document, index, "", ("SCALAR",))
        if index in self.triangles:
            values = self.triangles[index].reshape(-1, 1)
        if mode != TRIANGLE_LIST or len(values) % 3 or not len(values):
            self._as_it_is(index, target=INDEX_TARGET)
            return
        code = UNSIGNED_SHORT if values.max() < 2**16 - 1 else UNSIGNED_INT
        size = COMPONENTS[code].itemsize
        view = self.buffers.add_triangles(values.reshape(-1, 3), size=size, target=INDEX_TARGET)
        self._set(index, view, code, values)

    def _as_it_is(self, index: int, **more: Any) -> None:
        """The same numbers, each row padded to whole words as a vertex attribute asks, and compressed."""
        values = np.ascontiguousarray(read_raw(self.document, index))
        values = np.ascontiguousarray(values[self.orders[index]]) if index in self.orders else values
        accessor = self.document.gltf.accessors[index]
        row = values.dtype.itemsize * WIDTHS[accessor.type]
        rows = values.view(np.uint8).reshape(len(values), row)
        is_vertex = more.get("target") == VERTEX_TARGET
        if is_vertex:
            rows = np.pad(rows, ((0, 0), (0, -row % 4)))
        if rows.shape[1] % 4 or not is_vertex:
            view = self.buffers.add_bytes(rows.tobytes(), **more)
        else:
            view = self.buffers.add_rows(rows, decoded=rows, **more)
        self._set(index, view, accessor.component_type, values, normalized=accessor.normalized, keep=True)

    def _set(
        self,
        index: int,
        view: int,
        code: int,
        values: np.ndarray,
        *,
        bounds: bool = False,
        normalized: bool = False,
        keep: bool = False,
    ) -> None:
        entry = {key: value for key, value in self.document.json["accessors"][index].items() if key != "sparse"}
        entry.pop("byteOffset", None)
        entry |= {"bufferView": view, "componentType": code}
        entry.pop("normalized", None)
        if normalized:
            entry["normalized"] = True
        if not keep:
            for key in ("min", "max"):
                entry.pop(key, None)
        if bounds:
            entry |= {"min": values.min(axis=0).tolist(), "max": values.max(axis=0).tolist()}
        self.accessors[index] = entry

    def _type(self, index: int) -> int:
        return self.document.gltf.accessors[index].component_type

    def _view_bytes(self, index: int) -> bytes:
        view = self.document.gltf.buffer_views[index]
        return self.document.buffers[view.buffer][view.byte_offset :][: view.byte_length]


def _accessors_of(primitive: Primitive) -> list[int]:
    """Accessors of a primitive: attributes, targets, indices."""
    named = [*primitive.attributes.values(), *(index for target in primitive.targets for index in target.values())]
    return named if primitive.indices is None else [*named, primitive.indices]
