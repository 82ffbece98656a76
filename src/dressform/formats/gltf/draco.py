"""Primitives compressed by `KHR_draco_mesh_compression` [KHRDraco] made plain again, by DracoPy (extra `draco`).

The extension covers the attributes and triangles of a primitive. Morph targets stay as they are in the file, in the
order in which the decoder gives the vertices; a file whose encoder merged vertices, but not those of its targets, is
refused.
"""

import importlib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
from jaxtyping import Int

from dressform.errors import FileError
from dressform.formats.gltf.components import COMPONENTS, UNSIGNED_INT, WIDTHS
from dressform.formats.guards.limits import mesh_bytes, refuse_excess

EXTENSION = "KHR_draco_mesh_compression"
TRIANGLES = 4
ALIGNMENT = 4
AGAIN = "Export the file again without mesh compression"
INSTALL = "Install it: pip install 'dressform[draco]', or export the file again without mesh compression"
UNCHANGED_ORDER = "Encode it so that no vertices are merged (sequential), or without mesh compression"


class DracoPrimitive(msgspec.Struct, frozen=True, rename="camel"):
    """What the extension says of a primitive."""

    buffer_view: int
    attributes: dict[str, int]


@cache
def draco_library() -> Any:
    """The library, or None where it is not installed."""
    try:
        return importlib.import_module("DracoPy")
    except ImportError:  # an extra
        return None


def without_draco(
    path: Path, tree: dict[str, Any], buffers: Sequence[bytes]
) -> tuple[dict[str, Any], tuple[bytes, ...]]:
    """The JSON and buffers of a file with every compressed primitive decoded, and the extension gone.

    A primitive that is there uncompressed too is read so. What is decoded stands in one more buffer.

    Raises:
        FileError: DracoPy is not installed, or what is compressed is damaged or does not fit the rest of the primitive.

    Proof: tests/formats/gltf/test_draco.py
    """
    found = [
        (number, index, primitive)
        for number, mesh in enumerate(_dicts(tree.get("meshes")))
        for index, primitive in enumerate(_dicts(mesh.get("primitives")))
        if _told(primitive) is not None
    ]
    if not found:
        return tree, tuple(buffers)
    plain = _Plain(path, tree, buffers)
    for number, index, primitive in found:
        place = f"meshes[{number}].primitives[{index}]"
        changed = dict(primitive) if plain.is_whole(primitive) else plain.decoded(place, primitive)
        plain.tree["meshes"][number]["primitives"][index] = _without(changed)
    for key in ("extensionsUsed", "extensionsRequired"):
        kept = [name for name in plain.tree.pop(key, ()) if name != EXTENSION]
        plain.tree |= {key: kept} if kept else {}
    return plain.tree, plain.all_buffers()


class _Plain:
    """The file while it becomes plain."""

    def __init__(self, path: Path, tree: dict[str, Any], buffers: Sequence[bytes]) -> None:
        self._path, self._buffers, self._more = path, tuple(buffers), bytearray()
        self.tree = dict(tree)
        for key in ("accessors", "bufferViews", "buffers"):
            self.tree[key] = list(tree.get(key) or ())
        self.tree["meshes"] = [{**mesh, "primitives": list(mesh["primitives"])} for mesh in tree["meshes"]]

    def is_whole(self, primitive: dict[str, Any]) -> bool:
        """Whether all that the primitive names stands in the file uncompressed."""
        named = [*primitive["attributes"].values(), *([primitive["indices"]] if "indices" in primitive else [])]
        accessors = [self._accessor(index) for index in named]
        return all("bufferView" in one for one in accessors)

    def decoded(self, place: str, primitive: dict[str, Any]) -> dict[str, Any]:
        """The primitive with accessors of its own, and what was decoded behind them."""
        told = self._checked(place, primitive)
        counts = [self._accessor(primitive["attributes"][name]).get("count", 0) for name in told.attributes]
        corners = self._accessor(primitive["indices"]).get("count", 0) if "indices" in primitive else 0
        vertices = max((count for count in counts if isinstance(count, int)), default=0)
        refuse_excess(self._path, place, mesh_bytes(vertices, corners))
        mesh = self._mesh(place, told)
        changed = {**primitive, "attributes": dict(primitive["attributes"]), "mode": TRIANGLES}
        for name, number in told.attributes.items():
            values = next((one["data"] for one in mesh.attributes if one["unique_id"] == number), None)
            if values is None:
                raise self._error(place, f"names the attribute {number}, which is not among those decoded")
            changed["attributes"][name] = self._attribute(f"{place}.{name}", primitive["attributes"][name], values)
        self._refuse_other_counts(place, changed, len(mesh.points))
        changed["indices"] = self._indices(place, np.asarray(mesh.faces, dtype=np.int64), len(mesh.points))
        return changed

    def all_buffers(self) -> tuple[bytes, ...]:
        """The buffers, with what was decoded in one more."""
        if not self._more:
            return self._buffers
        self.tree["buffers"].append({"byteLength": len(self._more)})
        return (*self._buffers, bytes(self._more))

    def _checked(self, place: str, primitive: dict[str, Any]) -> DracoPrimitive:
        try:
            told = msgspec.convert(_told(primitive), DracoPrimitive)
        except msgspec.ValidationError as mistake:
            raise self._error(place, str(mistake).lower()) from None
        absent = next((name for name in told.attributes if name not in primitive["attributes"]), None)
        if absent is not None:
            raise self._error(place, f"holds {absent}, which the primitive does not have")
        if not 0 <= told.buffer_view < len(self.tree["bufferViews"]):
            raise self._error(place, f"names buffer view {told.buffer_view} of {len(self.tree['bufferViews'])}")
        return told

    def _mesh(self, place: str, told: DracoPrimitive) -> Any:
        library = draco_library()
        if library is None:
            raise FileError.of(self._path, place, f"is compressed by {EXTENSION}, which needs DracoPy", INSTALL)
        view = self.tree["bufferViews"][told.buffer_view]
        start = view.get("byteOffset", 0)
        data = self._buffers[view["buffer"]][start : start + view["byteLength"]]
        try:
            mesh = library.decode(bytes(data))
        except (library.FileTypeException, library.EncodingFailedException, ValueError, RuntimeError) as damage:
            raise self._error(place, f"cannot be decoded ({' '.join(str(damage).split())})") from None
        if not hasattr(mesh, "faces"):
            raise self._error(place, "holds points, not triangles")
        return mesh

    def _attribute(self, place: str, index: int, values: np.ndarray) -> int:
        """An accessor like another one, with values of its own."""
        accessor = self._accessor(index)
        dtype, width = COMPONENTS.get(accessor.get("componentType", 0)), WIDTHS.get(accessor.get("type", ""))
        values = np.asarray(values).reshape(len(values), -1)
        if dtype is None or width is None or values.shape != (accessor.get("count"), width):
            told = f"{accessor.get('count')} of {accessor.get('type')}"
            raise self._error(place, f"is {values.shape[0]} × {values.shape[1]} numbers, its accessor tells {told}")
        kept = {key: value for key, value in accessor.items() if key not in ("bufferView", "byteOffset", "sparse")}
        return self._add(kept, np.ascontiguousarray(values).astype(dtype).tobytes())

    def _indices(self, place: str, faces: Int[np.ndarray, "F 3"], vertices: int) -> int:
        corners = faces.reshape(-1)
        if len(corners) and not (corners.min() >= 0 and corners.max() < vertices):
            raise self._error(place, f"names vertex {corners.max()} of {vertices}")
        entry = {"componentType": UNSIGNED_INT, "count": len(corners), "type": "SCALAR"}
        return self._add(entry, corners.astype("<u4").tobytes())

    def _refuse_other_counts(self, place: str, primitive: dict[str, Any], vertices: int) -> None:
        """Refuse what is not compressed and has another number of vertices than what is."""
        for name, index in primitive["attributes"].items():
            if self._accessor(index).get("count") != vertices:
                count = self._accessor(index).get("count")
                raise self._error(f"{place}.{name}", f"has {count} vertices, decoded were {vertices}", UNCHANGED_ORDER)
        for number, target in enumerate(_dicts(primitive.get("targets"))):
            for name, index in target.items():
                count = self._accessor(index).get("count")
                if count != vertices:
                    problem = f"moves {count} vertices, decoded were {vertices}: targets are never compressed"
                    raise self._error(f"{place}.targets[{number}].{name}", problem, UNCHANGED_ORDER)

    def _add(self, accessor: dict[str, Any], data: bytes) -> int:
        self._more.extend(bytes(-len(self._more) % ALIGNMENT))
        view = {"buffer": len(self._buffers), "byteOffset": len(self._more), "byteLength": len(data)}
        self._more.extend(data)
        self.tree["bufferViews"].append(view)
        self.tree["accessors"].append({**accessor, "bufferView": len(self.tree["bufferViews"]) - 1})
        return len(self.tree["accessors"]) - 1

    def _accessor(self, index: int) -> dict[str, Any]:
        accessors = self.tree["accessors"]
        found: dict[str, Any] = accessors[index] if 0 <= index < len(accessors) else {}
        return found

    def _error(self, place: str, problem: str, advice: str = AGAIN) -> FileError:
        return FileError.of(self._path, f"{place} (compressed)", problem, advice)


def _told(primitive: dict[str, Any]) -> Any:
    """What the extension says of a primitive, None where it is not compressed."""
    extensions = primitive.get("extensions")
    return extensions.get(EXTENSION) if isinstance(extensions, dict) else None


def _without(primitive: dict[str, Any]) -> dict[str, Any]:
    kept = {name: value for name, value in primitive["extensions"].items() if name != EXTENSION}
    rest = {key: value for key, value in primitive.items() if key != "extensions"}
    return rest | ({"extensions": kept} if kept else {})


def _dicts(entries: Any) -> list[dict[str, Any]]:
    return [entry for entry in entries if isinstance(entry, dict)] if isinstance(entries, list) else []
