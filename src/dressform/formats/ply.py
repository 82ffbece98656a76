"""Polygon files (PLY 1.0) [Turk1994]: text and both binary byte orders, any elements, lists of any length.

Written here rather than taken from a library: a reader is these lines, and the libraries that have one cost more to
install than all else that is needed together.
"""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.normals import unit_rows
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import read_bytes, refuse_excess, words_bytes
from dressform.formats.polygons import fans

TYPES = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}
ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
CORNER_NAMES = ("vertex_indices", "vertex_index")
UV_NAMES = (("s", "t"), ("u", "v"), ("texture_u", "texture_v"))
KNOWN_NAMES = frozenset({"x", "y", "z", "nx", "ny", "nz", *(name for pair in UV_NAMES for name in pair)})
COLOUR_NAMES = {"red": "COLOR_0.r", "green": "COLOR_0.g", "blue": "COLOR_0.b", "alpha": "COLOR_0.a"}
MAX_HEADER_BYTES = 1 << 20
BYTES_PER_VALUE = 24
BYTES_PER_LOOSE_VALUE = 200
"""Where the lists of an element differ in length, each value is an object of its own."""


@dataclass(frozen=True)
class _Property:
    name: str
    code: str
    count_code: str | None  # of a list; None for a plain value


@dataclass(frozen=True)
class _Element:
    name: str
    count: int
    properties: tuple[_Property, ...]


Columns = dict[str, Any]


def read_ply(path: Path) -> FileMesh:
    """Read a PLY file; further vertex properties become attributes, so `strength` is read as `_STRENGTH`.

    Raises:
        FileError: not PLY, truncated, no vertices or faces, an index out of range, or a value that is not finite.
    """
    data = read_bytes(path)
    order, elements, start = _header(path, data)
    if order == "":
        refuse_excess(path, "", words_bytes(data))
    table = _text(path, data[start:], elements) if order == "" else _binary(path, data, start, elements, order)
    vertex = table.get("vertex", {})
    if not all(name in vertex for name in "xyz"):
        raise FileError.of(path, "header", "declares no vertices with x, y and z", "Export a mesh as PLY")
    vertices = np.stack([vertex[name] for name in "xyz"], axis=1)
    broken = np.flatnonzero(~np.isfinite(vertices).all(axis=1))
    if broken.size:
        raise FileError.of(path, f"vertex {broken[0]}", f"is at {vertices[broken[0]].tolist()}", "Export it again")
    faces = _faces(path, table.get("face", {}), len(vertices))
    uv = next((pair for pair in UV_NAMES if all(name in vertex for name in pair)), None)
    return replace(
        FileMesh.plain(stem_of(path), vertices, faces),
        scalars=_scalars(path, vertex),
        corner_uv=None if uv is None else np.stack([vertex[uv[0]], 1 - vertex[uv[1]]], axis=1)[faces],
        corner_normals=_corner_normals(vertex, faces),
    )


def _corner_normals(vertex: Columns, faces: Int[np.ndarray, "F 3"]) -> Float[np.ndarray, "F 3 3"] | None:
    if not all(f"n{axis}" in vertex for axis in "xyz"):
        return None
    return unit_rows(np.stack([vertex[f"n{axis}"] for axis in "xyz"], axis=1))[faces]


def _header(path: Path, data: bytes) -> tuple[str, tuple[_Element, ...], int]:
    """Byte order ("" for text), elements, and where the body starts."""
    end = data.find(b"end_header", 0, MAX_HEADER_BYTES)
    newline = data.find(b"\n", end)
    if not data.startswith(b"ply") or end < 0 or newline < 0:
        raise FileError.of(path, "header", "is not PLY", "Export it as PLY, glTF or OBJ")
    order: str | None = None
    elements: list[_Element] = []
    for number, line in enumerate(data[:end].decode("latin-1").splitlines(), 1):
        words = line.split()
        try:
            if words[:1] == ["format"]:
                order = ORDERS[words[1]]
            elif words[:1] == ["element"]:
                elements.append(_Element(words[1], int(words[2]), ()))
            elif words[:1] == ["property"]:
                last = elements.pop()
                elements.append(_Element(last.name, last.count, (*last.properties, _property(words[1:]))))
        except (KeyError, IndexError, ValueError):
            raise FileError.of(path, f"line {number}", f"{line[:60]!r} is not PLY", "Export it again") from None
    if order is None or any(element.count < 0 for element in elements):
        raise FileError.of(path, "header", "has no format, or a negative count", "Export it again")
    for names in ([item.name for item in elements], *([item.name for item in each.properties] for each in elements)):
        if len(set(names)) < len(names):
            raise FileError.of(path, "header", f"declares a name twice: {', '.join(names)}", "Export it again")
    return order, tuple(elements), newline + 1


def _property(words: list[str]) -> _Property:
    if words[0] == "list":
        return _Property(words[3], TYPES[words[2]], TYPES[words[1]])
    return _Property(words[1], TYPES[words[0]], None)


def _cut(path: Path, element: _Element) -> FileError:
    problem = f"is cut off: fewer than the {element.count:,} declared are there"
    return FileError.of(path, f"element {element.name}", problem, "Copy or export the file again")


def _text(path: Path, body: bytes, elements: tuple[_Element, ...]) -> dict[str, Columns]:
    lines = [line for line in body.decode("latin-1").splitlines() if line.strip()]
    table: dict[str, Columns] = {}
    start = 0
    for element in elements:
        rows = lines[start : start + element.count]
        if len(rows) < element.count:
            raise _cut(path, element)
        start += element.count
        try:
            table[element.name] = _text_columns(element, rows)
        except (ValueError, IndexError):
            problem = "holds a row that does not fit its header"
            raise FileError.of(path, f"element {element.name}", problem, "Export it again") from None
    return table


def _text_columns(element: _Element, rows: list[str]) -> Columns:
    if all(item.count_code is None for item in element.properties):
        values = np.array([row.split() for row in rows], dtype=np.float64).reshape(len(rows), -1)
        return {item.name: values[:, column].copy() for column, item in enumerate(element.properties)}
    columns: dict[str, list[Any]] = {item.name: [] for item in element.properties}
    for row in rows:
        words = row.split()
        at = 0
        for item in element.properties:
            if item.count_code is None:
                columns[item.name].append(float(words[at]))
                at += 1
            else:
                count = int(words[at])
                listed = [float(word) for word in words[at + 1 : at + 1 + count]]
                if len(listed) != count:
                    raise ValueError(item.name)
                columns[item.name].append(listed)
                at += 1 + count
    return columns


def _binary(path: Path, data: bytes, start: int, elements: tuple[_Element, ...], order: str) -> dict[str, Columns]:
    table: dict[str, Columns] = {}
    for element in elements:
        least = sum(np.dtype(item.count_code or item.code).itemsize for item in element.properties)
        if element.count * max(least, 1) > len(data) - start:
            raise _cut(path, element)
        refuse_excess(path, f"element {element.name}", element.count * len(element.properties) * BYTES_PER_VALUE)
        table[element.name], start = _binary_columns(path, data, start, element, order)
    return table


def _binary_columns(path: Path, data: bytes, start: int, element: _Element, order: str) -> tuple[Columns, int]:
    """Columns of an element; at once where all its lists are as long as those of the first row, else row by row."""
    if not element.count:
        return {item.name: np.zeros(0) for item in element.properties}, start
    first, _ = _binary_row(path, data, start, element, order)
    fields: list[tuple[Any, ...]] = []
    for item in element.properties:
        if item.count_code is not None:
            fields.append((f"count of {item.name}", order + item.count_code))
            fields.append((item.name, order + item.code, (len(first[item.name]),)))
        else:
            fields.append((item.name, order + item.code))
    dtype = np.dtype(fields)
    if start + element.count * dtype.itemsize <= len(data):
        rows = np.frombuffer(data, dtype, element.count, start)
        lists = [item.name for item in element.properties if item.count_code is not None]
        if all(np.all(rows[f"count of {name}"] == len(first[name])) for name in lists):
            with np.errstate(invalid="ignore"):  # a signalling NaN: what holds a place is checked where it is used
                columns = {item.name: rows[item.name].astype(np.float64) for item in element.properties}
            return columns, start + rows.nbytes
    refuse_excess(path, f"element {element.name}", element.count * len(element.properties) * BYTES_PER_LOOSE_VALUE)
    collected: dict[str, list[Any]] = {item.name: [] for item in element.properties}
    for _ in range(element.count):
        row, start = _binary_row(path, data, start, element, order)
        for name, value in row.items():
            collected[name].append(value)
    return collected, start


def _binary_row(path: Path, data: bytes, start: int, element: _Element, order: str) -> tuple[dict[str, Any], int]:
    row: dict[str, Any] = {}
    try:
        for item in element.properties:
            count = 1
            if item.count_code is not None:
                count = int(np.frombuffer(data, order + item.count_code, 1, start)[0])
                start += np.dtype(item.count_code).itemsize
            values = np.frombuffer(data, order + item.code, count, start) if count else np.zeros(0)
            start += count * np.dtype(item.code).itemsize
            row[item.name] = values.astype(np.float64) if item.count_code is not None else float(values[0])
    except ValueError:
        raise _cut(path, element) from None
    return row, start


def _faces(path: Path, face: Columns, count: int) -> Int[np.ndarray, "F 3"]:
    polygons: Any = next((face[name] for name in CORNER_NAMES if name in face), [])
    if any(np.ndim(polygon) != 1 for polygon in polygons):
        raise FileError.of(path, "face", "names one vertex where a list is due", "Export it again")
    lengths = np.array([len(polygon) for polygon in polygons], dtype=np.int64)
    if not len(lengths):
        raise FileError.of(path, "", "holds no faces", "Export a mesh with faces, not a cloud of points")
    if lengths.min() < 3:
        raise FileError.of(path, f"face {int(lengths.argmin())}", f"has {lengths.min()} corners", "Export it again")
    corners = np.concatenate([np.asarray(polygon) for polygon in polygons]).astype(np.int64)
    wrong = np.flatnonzero((corners < 0) | (corners >= count))
    if wrong.size:
        at = int(np.searchsorted(np.cumsum(lengths), wrong[0], side="right"))
        raise FileError.of(path, f"face {at}", f"names vertex {corners[wrong[0]]} of {count}", "Export it again")
    return corners[fans(lengths)[0]]


def _scalars(path: Path, vertex: Columns) -> dict[str, Float[np.ndarray, " N"]]:
    scalars: dict[str, Float[np.ndarray, " N"]] = {}
    for name, values in vertex.items():
        if name in KNOWN_NAMES or not isinstance(values, np.ndarray) or values.ndim != 1:
            continue
        if not np.isfinite(values).all():
            raise FileError.of(path, f"vertex property {name}", "holds a value that is not finite", "Export it again")
        if name in COLOUR_NAMES:
            scalars[COLOUR_NAMES[name]] = values / 255.0 if values.max(initial=0.0) > 1.0 else values
        else:
            scalars[f"_{name.upper()}"] = values
    return scalars
