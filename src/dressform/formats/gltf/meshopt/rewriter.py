"""A file written anew: each accessor rounded and compressed according to what it is used for."""

import copy
from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Float, UInt8

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
from dressform.formats.gltf.meshopt.arrangement import TRIANGLE_LIST, WEIGHT_EXPONENT, Arrangement, weight_steps
from dressform.formats.gltf.meshopt.filters import EXPONENTIAL, NONE, OCTAHEDRAL, folded, on_grid, unfiltered
from dressform.formats.gltf.meshopt.grids import Grids
from dressform.formats.gltf.meshopt.unused import unused_accessors
from dressform.formats.gltf.meshopt.writer import CompressedBuffers
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.reading.bases import default_scene
from dressform.formats.gltf.schema import Mesh

QUANTIZATION = "KHR_mesh_quantization"
NORMAL_BITS = 10
"""A normal is off by at most 0.2 degrees."""
TEXTURE_EXPONENT = -13
"""Texture coordinates are off by at most an 8th of a pixel of a picture of 2,048."""


@dataclass(frozen=True, eq=False)
class _Rows:
    """Rows of one accessor, as they are stored and once they are decoded."""

    index: int
    rows: UInt8[np.ndarray, "N S"]
    decoded: UInt8[np.ndarray, "N S"]


class FileRewriter:
    """Writes each accessor of a file anew, rounded and compressed according to what it is used for."""

    def __init__(self, document: Document, grids: Grids) -> None:
        self.document = document
        self.grids = grids
        self.buffers = CompressedBuffers()
        self.tree: dict[str, Any] = copy.deepcopy(document.json)
        self.accessors: list[dict[str, Any]] = [{} for _ in document.gltf.accessors]
        self.quantized = False
        self._waiting: dict[tuple[str, int, str], list[_Rows]] = {}
        self.arranged = Arrangement(document)
        self.orders = self.arranged.orders
        primitives = (one for mesh in document.gltf.meshes for one in mesh.primitives)
        self._in_targets = {index for one in primitives for target in one.targets for index in target.values()}

    def glb(self) -> bytes:
        """The file."""
        shifts = self._local_shifts()
        for index, mesh in enumerate(self.document.gltf.meshes):
            shift = shifts.get(index, 0)
            exponents = self._target_exponents(mesh)
            for primitive in mesh.primitives:
                for name, accessor in primitive.attributes.items():
                    self._attribute(accessor, name, self.grids.base + shift)
                for target, exponent in zip(primitive.targets, exponents):
                    for name, accessor in target.items():
                        self._target(accessor, name, exponent + shift)
                if primitive.indices is not None:
                    self._indices(primitive.indices, primitive.mode)
        unused = unused_accessors(self.document)
        for index, done in enumerate(self.accessors):
            if index in unused:
                self.accessors[index] = _empty(self.document.json["accessors"][index])
            elif not done:
                self._as_it_is(index)
        self._write_rows()
        for image in self.tree.get("images", ()):
            if "bufferView" in image:
                image["bufferView"] = self.buffers.add_bytes(self._view_bytes(image["bufferView"]))
        self.tree["accessors"] = self.accessors
        if self.quantized:
            for key in ("extensionsUsed", "extensionsRequired"):
                self.tree[key] = sorted({*self.tree.get(key, ()), QUANTIZATION})
        return self.buffers.glb(self.tree)

    def _read(self, index: int, types: tuple[str, ...]) -> Float[np.ndarray, "N W"]:
        values = read_floats(self.document, index, "", types)
        return values[self.orders[index]] if index in self.orders else values

    def _target_exponents(self, mesh: Mesh) -> list[int]:
        """The grid of each target of a mesh."""
        told = mesh.extras.get("targetNames") if isinstance(mesh.extras, dict) else None
        names = told if isinstance(told, list) else []
        count = max((len(one.targets) for one in mesh.primitives), default=0)
        known = [name if isinstance(name, str) else "" for name in names[:count]]
        known += [""] * (count - len(known))
        return [self.grids.targets.get(name, self.grids.exponent) for name in known]

    def _local_shifts(self) -> dict[int, int]:
        """What a mesh's own units add to exponents: in centimetres a grid is a hundred times as wide in numbers."""
        scene = read_scene(self.document, default_scene(self.document))
        found: dict[int, int] = {}
        for piece in scene.pieces:
            scale = float(np.linalg.norm(piece.matrix[:3, :3], 2))
            own = -int(np.ceil(np.log2(scale) - 1e-9))
            found[piece.mesh] = min(own, found.get(piece.mesh, own))
        return found

    def _attribute(self, index: int, name: str, exponent: int) -> None:
        if self.accessors[index]:
            return
        if name == "POSITION":
            self._floats(index, exponent, bounds=True)
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
        self._wait(index, rows, decoded, name=EXPONENTIAL)
        self._set(index, None, FLOAT, decoded.view("<f4"), bounds=bounds)

    def _turns(self, index: int) -> None:
        """The change of directions in bytes, where none is longer than a byte can say; it may be up to 2 long."""
        values = self._read(index, ("VEC3",))
        if np.abs(values).max(initial=0.0) > 1.0:
            self._as_it_is(index, target=VERTEX_TARGET)
            return
        stored = np.zeros((len(values), 4), dtype=np.int8)
        stored[:, :3] = np.rint(values * np.iinfo(np.int8).max)
        rows = stored.view(np.uint8)
        self._wait(index, rows, rows)
        self._set(index, None, BYTE, stored[:, :3], normalized=True)
        self.quantized = True

    def _directions(self, index: int) -> None:
        """Unit vectors in 16 bits, of which `NORMAL_BITS` are told."""
        values = self._read(index, ("VEC3", "VEC4"))
        last = values[:, 3] if values.shape[1] > 3 else np.zeros(len(values))
        rows = folded(values[:, :3], last, bits=NORMAL_BITS)
        decoded = unfiltered(rows, OCTAHEDRAL)
        self._wait(index, rows, decoded, name=OCTAHEDRAL)
        self._set(index, None, SHORT, decoded.view("<i2"), normalized=True)
        self.quantized = True

    def _weights(self, index: int) -> None:
        """Joint weights on a grid, whose sum is exactly 1 where it was nearly so."""
        steps = weight_steps(self._in_slots(index, self._read(index, ("VEC4",))))
        rows = on_grid(np.ldexp(steps.astype(np.float64), WEIGHT_EXPONENT), WEIGHT_EXPONENT)
        decoded = unfiltered(rows, EXPONENTIAL)
        self._wait(index, rows, decoded, name=EXPONENTIAL)
        self._set(index, None, FLOAT, decoded.view("<f4"))

    def _in_slots(self, index: int, values: np.ndarray) -> np.ndarray:
        """Joints, or their weights, of each vertex in their new order; whatever else an accessor holds as it is."""
        slots = self.arranged.slots.get(index)
        if slots is None:
            return values
        rows = np.take_along_axis(values.reshape(slots.shape), slots, axis=1)
        if index in self.arranged.idle:
            rows[self.arranged.idle[index]] = 0  # a joint without weight must be named 0
        return np.ascontiguousarray(rows)

    def _indices(self, index: int, mode: int) -> None:
        if self.accessors[index]:
            return
        values = read_integers(self.document, index, "", ("SCALAR",))
        if index in self.arranged.triangles:
            values = self.arranged.triangles[index].reshape(-1, 1)
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
        values = self._in_slots(index, values)
        accessor = self.document.gltf.accessors[index]
        row = values.dtype.itemsize * WIDTHS[accessor.type]
        rows = values.view(np.uint8).reshape(len(values), row)
        is_vertex = more.get("target") == VERTEX_TARGET
        if is_vertex:
            rows = np.pad(rows, ((0, 0), (0, -row % 4)))
        if accessor.type == "MAT4":
            view: int | None = self.buffers.add_matrices(rows, **more)
        elif rows.shape[1] % 4 or not is_vertex:
            view = self.buffers.add_bytes(rows.tobytes(), **more)
        else:
            view = None
            self._wait(index, rows, rows)
        self._set(index, view, accessor.component_type, values, normalized=accessor.normalized, keep=True)

    def _wait(
        self, index: int, rows: UInt8[np.ndarray, "N S"], decoded: UInt8[np.ndarray, "N S"], *, name: str = NONE
    ) -> None:
        """Rows of vertices, to be written with all others of their kind: each view costs 250 bytes of JSON."""
        kind = "target" if index in self._in_targets else ""
        self._waiting.setdefault((name, rows.shape[1], kind), []).append(_Rows(index, rows, decoded))

    def _write_rows(self) -> None:
        """Every kind of rows in one view; an accessor says where in it its own begin."""
        for (name, stride, _), parts in self._waiting.items():
            rows, decoded = (np.concatenate(each) for each in zip(*((one.rows, one.decoded) for one in parts)))
            view = self.buffers.add_rows(rows, decoded=decoded, name=name, target=VERTEX_TARGET)
            begin = 0
            for one in parts:
                self.accessors[one.index] |= {"bufferView": view} | ({"byteOffset": begin} if begin else {})
                begin += len(one.rows) * stride

    def _set(
        self,
        index: int,
        view: int | None,
        code: int,
        values: np.ndarray,
        *,
        bounds: bool = False,
        normalized: bool = False,
        keep: bool = False,
    ) -> None:
        entry = {key: value for key, value in self.document.json["accessors"][index].items() if key != "sparse"}
        entry.pop("byteOffset", None)
        entry |= {"componentType": code} | ({} if view is None else {"bufferView": view})
        entry.pop("normalized", None)
        if normalized:
            entry["normalized"] = True
        if not keep:
            for key in ("min", "max"):
                entry.pop(key, None)
        if bounds:
            entry |= {"min": _short(values.min(axis=0)), "max": _short(values.max(axis=0))}
        self.accessors[index] = entry

    def _type(self, index: int) -> int:
        return self.document.gltf.accessors[index].component_type

    def _view_bytes(self, index: int) -> bytes:
        view = self.document.gltf.buffer_views[index]
        return self.document.buffers[view.buffer][view.byte_offset :][: view.byte_length]


def _short(values: Float[np.ndarray, " W"]) -> list[float]:
    """Numbers as the fewest digits that are the same in float32."""
    return [float(str(np.float32(value))) for value in values]


def _empty(entry: dict[str, Any]) -> dict[str, Any]:
    """An accessor that nothing uses: it keeps its number, and its bytes go. Read, it would be zeros."""
    return {key: entry[key] for key in ("componentType", "count", "type", "normalized", "name") if key in entry}
