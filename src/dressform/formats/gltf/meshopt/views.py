"""Compressed buffer views of a file put back into plain ones, so that all that reads a glTF reads them."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec

from dressform.errors import FileError
from dressform.formats.gltf.meshopt.attributes import decode_attributes
from dressform.formats.gltf.meshopt.filters import FILTERS, NONE, unfiltered
from dressform.formats.gltf.meshopt.indices import decode_indices, decode_triangles
from dressform.formats.guards.limits import refuse_excess

EXTENSION = "EXT_meshopt_compression"
NAMES = (EXTENSION, "KHR_meshopt_compression")
ATTRIBUTES, TRIANGLES, INDICES = "ATTRIBUTES", "TRIANGLES", "INDICES"
MOST_STRIDE = 256
WORKING_COPIES = 6
"""While a view is decoded, so many bytes are held for each of its own."""


class CompressedView(msgspec.Struct, frozen=True, rename="camel"):
    """What the extension says of a buffer view."""

    buffer: int
    byte_length: int
    byte_stride: int
    count: int
    mode: str
    byte_offset: int = 0
    filter: str = NONE


def is_placeholder(tree: dict[str, Any], index: int) -> bool:
    """Whether a buffer has no bytes of its own: all views in it are compressed elsewhere."""
    views = [view for view in _dicts(tree.get("bufferViews")) if view.get("buffer") == index]
    return bool(views) and all(_told(view) is not None for view in views)


def packed_bytes(tree: dict[str, Any]) -> dict[int, int]:
    """Bytes that each compressed view takes in the file, by its number."""
    views = enumerate(tree.get("bufferViews") or ())
    told = {index: _told(view) for index, view in views if isinstance(view, dict)}
    sizes = {index: one.get("byteLength") for index, one in told.items() if isinstance(one, dict)}
    return {index: size for index, size in sizes.items() if isinstance(size, int)}


def decompressed(
    path: Path, tree: dict[str, Any], buffers: Sequence[bytes]
) -> tuple[dict[str, Any], tuple[bytes, ...]]:
    """The JSON and buffers of a file with every compressed view decoded in its place, and the extension gone.

    Raises:
        FileError: a view is damaged; file, place and problem in one line.

    Proof: tests/formats/gltf/test_optimise.py
    """
    views = tree.get("bufferViews")
    if not any(_told(view) is not None for view in _dicts(views)):
        return tree, tuple(buffers)
    filled: dict[int, bytearray] = {}
    plain = dict(tree)
    plain["bufferViews"] = []
    for index, view in enumerate(views or ()):
        told = _told(view)
        if told is None:
            plain["bufferViews"].append(view)
            continue
        place = f"bufferViews[{index}]"
        target = int(view["buffer"])
        data = _decoded(path, place, view, told, buffers)
        if target not in filled:
            refuse_excess(path, f"buffers[{target}]", len(buffers[target]))
            filled[target] = bytearray(buffers[target])
        start = int(view.get("byteOffset", 0))
        filled[target][start : start + len(data)] = data
        plain["bufferViews"].append(_without(view))
    plain["buffers"] = [_without(buffer) for buffer in tree["buffers"]]
    for key in ("extensionsUsed", "extensionsRequired"):
        if key in plain:
            plain[key] = [name for name in plain[key] if name not in NAMES]
    plain = {key: value for key, value in plain.items() if value or not key.startswith("extensions")}
    return plain, tuple(bytes(filled.get(index, data)) for index, data in enumerate(buffers))


def _decoded(path: Path, place: str, view: dict[str, Any], told: Any, buffers: Sequence[bytes]) -> bytes:
    advice = "Export the file again"
    try:
        how = msgspec.convert(told, CompressedView)
    except msgspec.ValidationError as mistake:
        raise FileError.of(path, f"{place}.extensions", str(mistake).lower(), advice) from None
    size = how.count * how.byte_stride
    problem = _problem(how)
    if not problem and view.get("byteLength") != size:
        problem = f"tells {how.count} × {how.byte_stride} bytes for a view of {view.get('byteLength')}"
    end = how.byte_offset + how.byte_length
    if not problem and not (0 <= how.buffer < len(buffers) and end <= len(buffers[how.buffer])):
        problem = "lies outside its buffer"
    if problem:
        raise FileError.of(path, f"{place}.extensions", problem, advice)
    refuse_excess(path, place, WORKING_COPIES * size)
    data = bytes(buffers[how.buffer][how.byte_offset : end])
    try:
        if how.mode == ATTRIBUTES:
            return unfiltered(decode_attributes(data, how.count, how.byte_stride), how.filter).tobytes()
        found = (decode_triangles if how.mode == TRIANGLES else decode_indices)(data, how.count)
    except ValueError as damage:
        raise FileError.of(path, f"{place} (compressed)", str(damage), advice) from None
    if found.max(initial=0) >= 2 ** (8 * how.byte_stride):
        raise FileError.of(path, f"{place} (compressed)", f"holds the index {found.max()}", advice)
    return found.astype(f"<u{how.byte_stride}").tobytes()


def _problem(how: CompressedView) -> str:
    """What the standard does not allow of a view, empty where it is allowed."""
    if how.mode not in (ATTRIBUTES, TRIANGLES, INDICES):
        return f"has the mode {how.mode!r}, not one of {ATTRIBUTES}, {TRIANGLES}, {INDICES}"
    if how.filter not in FILTERS or (how.mode != ATTRIBUTES and how.filter != NONE):
        return f"has the filter {how.filter!r} in the mode {how.mode}, which is not known"
    if how.count < 1 or how.byte_offset < 0 or how.byte_length < 0:
        return "tells a count or length that is none"
    if how.mode == ATTRIBUTES:
        fits = how.byte_stride % 4 == 0 and 0 < how.byte_stride <= MOST_STRIDE
    else:
        fits = how.byte_stride in (2, 4) and (how.mode == INDICES or how.count % 3 == 0)
    return "" if fits else f"has {how.count} rows of {how.byte_stride} bytes in the mode {how.mode}"


def _told(view: dict[str, Any]) -> Any:
    """What the extension says of a view, None where it is not compressed."""
    extensions = view.get("extensions")
    if not isinstance(extensions, dict):
        return None
    return next((extensions[name] for name in NAMES if name in extensions), None)


def _without(entry: dict[str, Any]) -> dict[str, Any]:
    """A view or a buffer without the extension."""
    extensions = entry.get("extensions")
    if not isinstance(extensions, dict):
        return entry
    kept = {name: value for name, value in extensions.items() if name not in NAMES}
    rest = {key: value for key, value in entry.items() if key != "extensions"}
    return rest | ({"extensions": kept} if kept else {})


def _dicts(entries: Any) -> list[dict[str, Any]]:
    return [entry for entry in entries if isinstance(entry, dict)] if isinstance(entries, list) else []
