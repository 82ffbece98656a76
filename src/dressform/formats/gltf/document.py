"""A glTF file in memory: its JSON untouched, a typed view of it, and its buffers."""

import json
import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn

import msgspec

from dressform.errors import FileError
from dressform.formats.gltf.draco import EXTENSION as DRACO
from dressform.formats.gltf.draco import without_draco
from dressform.formats.gltf.meshopt.views import NAMES, decompressed, is_placeholder, packed_bytes
from dressform.formats.gltf.schema import Gltf
from dressform.formats.gltf.uris import fetch
from dressform.formats.guards.limits import MAX_JSON_DEPTH, json_bytes, read_bytes, refuse_excess
from dressform.formats.guards.links import refuse_broken_links

GLB_MAGIC = b"glTF"
GLB_VERSION = 2
JSON_CHUNK = 0x4E4F534A
BINARY_CHUNK = 0x004E4942
HEADER_BYTES = 12
CHUNK_HEADER_BYTES = 8

# Extensions that change neither where a vertex is nor which triangles there are.
HARMLESS_EXTENSIONS = (
    "KHR_materials_",
    "KHR_texture_",
    "EXT_texture_",
    "MSFT_texture_",
    "KHR_lights_",
    "EXT_lights_",
    "VRMC_",
)
READ_EXTENSIONS = frozenset({"KHR_mesh_quantization", "KHR_xmp_json_ld", "KHR_animation_pointer", DRACO, *NAMES})

PLACEHOLDER_COPIES = 3
"""A buffer without bytes of its own is held empty, while it is filled, and full."""


@dataclass(frozen=True)
class Document:
    """A glTF file.

    Attributes:
        path: Where it was read, for messages and for files beside it.
        json: The JSON as the file has it, unknown keys included, but for what is compressed, which is plain here.
            Never changed: writers copy it.
        gltf: Typed view of the same JSON.
        buffers: Bytes of each buffer, at least as long as declared.
        packed: Bytes that a compressed buffer view takes in the file, by its number.
    """

    path: Path
    json: dict[str, Any]
    gltf: Gltf
    buffers: tuple[bytes, ...]
    packed: Mapping[int, int] = field(default_factory=dict)

    def error(self, place: str, problem: str, advice: str = "Export the file again") -> FileError:
        """An error message that names a place in this file."""
        return FileError.of(self.path, place, problem, advice)


def read_document(path: Path) -> Document:
    """Read a `.glb` or `.gltf` file with its buffers.

    Raises:
        FileError: not glTF 2.0, truncated, not valid by type, or in need of an extension that cannot be read.
    """
    return parse_document(path, read_bytes(path))


def parse_document(path: Path, data: bytes) -> Document:
    """Read glTF bytes as if they stood at `path`; see `read_document`."""
    text, binary = _split_glb(path, data) if data[:4] == GLB_MAGIC else (data, None)
    tree = _parse_json(path, text)
    _refuse_old_versions(path, tree)
    try:
        gltf = msgspec.convert(tree, Gltf)
    except msgspec.ValidationError as problem:
        what, _, place = str(problem).partition(" - at ")
        raise FileError.of(path, place.strip("`"), what[0].lower() + what[1:], "Export the file again") from None
    _refuse_extensions(path, gltf)
    buffers = _load_buffers(path, tree, gltf, binary)
    refuse_broken_links(path, gltf)
    packed = packed_bytes(tree)
    tree, buffers = decompressed(path, tree, buffers)
    plain, buffers = without_draco(path, tree, buffers)
    if plain is not tree:
        gltf = msgspec.convert(plain, Gltf)
    return Document(path, plain, gltf, buffers, packed)


def _split_glb(path: Path, data: bytes) -> tuple[bytes, bytes | None]:
    if len(data) < HEADER_BYTES + CHUNK_HEADER_BYTES:
        raise FileError.of(path, "header", f"is cut off after {len(data)} bytes", "Copy or export the file again")
    _, version, length = struct.unpack_from("<4sII", data)
    if version != GLB_VERSION:
        raise FileError.of(path, "header", f"is GLB version {version}, not {GLB_VERSION}", "Export it as glTF 2.0")
    if length > len(data):
        problem = f"is cut off: {len(data):,} of {length:,} bytes are there"
        raise FileError.of(path, "header", problem, "Copy or export the file again")
    chunks: list[tuple[int, bytes]] = []
    offset = HEADER_BYTES
    while offset + CHUNK_HEADER_BYTES <= length:
        size, kind = struct.unpack_from("<II", data, offset)
        offset += CHUNK_HEADER_BYTES
        if offset + size > length:
            problem = f"of {size:,} bytes reaches beyond the end of the file"
            raise FileError.of(path, f"chunk {len(chunks)}", problem, "Copy or export the file again")
        chunks.append((kind, data[offset : offset + size]))
        offset += size
    if not chunks or chunks[0][0] != JSON_CHUNK:
        raise FileError.of(path, "chunk 0", "is not JSON", "Export it as glTF 2.0")
    binary = chunks[1][1] if len(chunks) > 1 and chunks[1][0] == BINARY_CHUNK else None
    return chunks[0][1], binary


def _parse_json(path: Path, text: bytes) -> dict[str, Any]:
    def refuse_constant(name: str) -> NoReturn:
        raise FileError.of(path, "JSON", f"holds {name}, which is not a number", "Export the file again")

    refuse_excess(path, "JSON", json_bytes(text))
    try:
        tree = json.loads(text.decode("utf-8-sig"), parse_constant=refuse_constant)
    except UnicodeDecodeError:
        raise FileError.of(path, "", "is not glTF: neither GLB nor UTF-8 JSON", "Export it as glTF 2.0") from None
    except RecursionError:
        raise _too_deep(path) from None
    except ValueError as problem:
        raise FileError.of(path, "", f"is not glTF: {problem}", "Export it as glTF 2.0") from None
    if not isinstance(tree, dict):
        raise FileError.of(path, "", "is not glTF: its JSON is no object", "Export it as glTF 2.0")
    _refuse_depth_and_infinity(path, tree)
    if b"\\ud" in text or b"\\uD" in text:
        _refuse_half_characters(path, tree)
    return tree


def _refuse_half_characters(path: Path, tree: dict[str, Any]) -> None:
    """Refuse halves of surrogate pairs, which JSON can spell and no text can hold."""
    try:
        json.dumps(tree, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise FileError.of(path, "JSON", "holds half a character in a text", "Export the file again") from None


def _too_deep(path: Path) -> FileError:
    return FileError.of(path, "JSON", f"is nested deeper than {MAX_JSON_DEPTH} levels", "Export the file again")


def _refuse_depth_and_infinity(path: Path, tree: dict[str, Any]) -> None:
    level: list[Any] = [tree]
    for _ in range(MAX_JSON_DEPTH):
        below: list[Any] = []
        for item in level:
            children = item.values() if isinstance(item, dict) else item
            for child in children:
                if isinstance(child, dict | list):
                    below.append(child)
                elif isinstance(child, float) and math.isinf(child):
                    raise FileError.of(path, "JSON", "holds a number that is too large", "Export the file again")
        level = below
        if not level:
            return
    raise _too_deep(path)


def _refuse_old_versions(path: Path, tree: dict[str, Any]) -> None:
    asset = tree.get("asset")
    version = asset.get("version") if isinstance(asset, dict) else None
    if not (isinstance(version, str) and version.startswith("2.")):
        raise FileError.of(path, "asset.version", f"is {version!r}, not 2.x", "Export it as glTF 2.0")


def _refuse_extensions(path: Path, gltf: Gltf) -> None:
    for name in gltf.extensions_required:
        if name in READ_EXTENSIONS or name.startswith(HARMLESS_EXTENSIONS):
            continue
        advice = "Export the file again without this extension"
        raise FileError.of(path, "extensionsRequired", f"needs {name}, which cannot be read", advice)


def _load_buffers(path: Path, tree: dict[str, Any], gltf: Gltf, binary: bytes | None) -> tuple[bytes, ...]:
    loaded: list[bytes] = []
    empty = 0
    for index, buffer in enumerate(gltf.buffers):
        place = f"buffers[{index}]"
        if buffer.uri is not None:
            data = fetch(path, buffer.uri, place)
        elif index == 0 and binary is not None:
            data = binary
        elif is_placeholder(tree, index):
            empty += buffer.byte_length
            refuse_excess(path, place, PLACEHOLDER_COPIES * empty)
            data = bytes(buffer.byte_length)
        else:
            raise FileError.of(path, place, "has neither a URI nor a binary chunk", "Export the file again")
        if len(data) < buffer.byte_length:
            problem = f"is cut off: {len(data):,} of {buffer.byte_length:,} bytes are there"
            raise FileError.of(path, place, problem, "Copy or export the file again")
        loaded.append(data)
    return tuple(loaded)
