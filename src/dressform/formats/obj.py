"""Wavefront OBJ: vertices in the order of the file, polygons as fans, groups and materials as parts.

The parser looks at whole columns: a body of 50,000 triangles takes a fraction of a second.
"""

from pathlib import Path

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.normals import unit_rows
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import read_bytes, refuse_excess, text_limit, words_bytes
from dressform.formats.polygons import fans

PART_KEYS = ("o", "g", "usemtl")
POSITION, TEXTURE, NORMAL = 0, 1, 2
COLUMN_NAMES = ("vertex", "texture coordinate", "normal")


def read_obj(path: Path) -> FileMesh:
    """Read an OBJ file; vertices keep the order of its `v` lines.

    Raises:
        FileError: not text, no vertices or faces, a number that is none or not finite, an index out of range.
    """
    lines = _lines(path)
    columns: dict[str, list[tuple[int, str]]] = {key: [] for key in _COLUMNS}
    for number, line in enumerate(lines, 1):
        if line.startswith("v") and (column := columns.get(line.partition(" ")[0])) is not None and " " in line:
            column.append((number, line))
    vertices = _numbers(path, columns["v"], 3)
    if not len(vertices):
        raise FileError.of(path, "", "holds no vertices", "Export a mesh as OBJ")
    uv, normals = _numbers(path, columns["vt"], 2), _numbers(path, columns["vn"], 3)
    counts, corners, parts, part_names = _faces(path, lines, (len(vertices), len(uv), len(normals)))
    if not len(counts):
        raise FileError.of(path, "", "holds no faces", "Export a mesh with faces, not points or curves")
    fan, owner = fans(counts)
    triangles = corners[fan]
    return FileMesh(
        stem_of(path),
        vertices,
        triangles[:, :, POSITION],
        part_names,
        parts[owner],
        (),
        np.zeros((0, len(vertices), 3)),
        np.zeros(0),
        corner_uv=_gathered(uv * (1, -1) + (0, 1), triangles[:, :, TEXTURE]),  # glTF measures v from the top
        corner_normals=_gathered(unit_rows(normals), triangles[:, :, NORMAL]),
    )


_COLUMNS = ("v", "vt", "vn")


def _lines(path: Path) -> list[str]:
    data = read_bytes(path, most=text_limit())
    refuse_excess(path, "", words_bytes(data))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    if "\0" in text:
        raise FileError.of(path, "", "is not OBJ: it is not text", "Export it as OBJ, glTF or PLY")
    joined = text.replace("\\\r\n", " ").replace("\\\n", " ").replace("\t", " ")
    return [line.strip() for line in joined.splitlines()]


def _numbers(path: Path, rows: list[tuple[int, str]], width: int) -> Float[np.ndarray, "N W"]:
    """The first `width` numbers after the key of each line."""
    try:
        table = np.array([line.split()[1 : width + 1] for _, line in rows], dtype=np.float64).reshape(-1, width)
    except ValueError:
        for number, line in rows:
            _check_row(path, number, line, width)
        raise
    for number, line in rows:
        if "_" in line or not line.isascii():  # Python's numbers may hold both
            _check_row(path, number, line, width)
    broken = np.flatnonzero(~np.isfinite(table).all(axis=1))
    if broken.size:
        number, line = rows[broken[0]]
        _check_row(path, number, line, width)
    return table


def _check_row(path: Path, number: int, line: str, width: int) -> None:
    words = line.split()[1 : width + 1]
    try:
        good = len(words) == width and all(word.isascii() and "_" not in word for word in words)
        good = good and bool(np.isfinite([float(word) for word in words]).all())
    except ValueError:
        good = False
    if not good:
        problem = f"{line[:60]!r} does not hold {width} finite numbers"
        raise FileError.of(path, f"line {number}", problem, "Export the file again")


def _faces(
    path: Path, lines: list[str], totals: tuple[int, int, int]
) -> tuple[Int[np.ndarray, " P"], Int[np.ndarray, "C 3"], Int[np.ndarray, " P"], tuple[str, ...]]:
    """Corner counts, corners (vertex, texture, normal; -1 where absent) and part per polygon, and the part names."""
    seen = [0, 0, 0]
    current, whole = {key: "" for key in PART_KEYS}, stem_of(path)
    counts: list[int] = []
    words: list[str] = []
    starts: list[tuple[int, int, int]] = []
    numbers: list[int] = []
    parts: list[str] = []
    keys = {"v": POSITION, "vt": TEXTURE, "vn": NORMAL}
    for number, line in enumerate(lines, 1):
        key, _, rest = line.partition(" ")
        if key in keys:
            seen[keys[key]] += 1
        elif key == "f":
            found = rest.split("#", 1)[0].split()
            if len(found) < 3:
                problem = f"is a face of {len(found)} corners"
                raise FileError.of(path, f"line {number}", problem, "Export the file again")
            counts.append(len(found))
            words.extend(found)
            starts.append((seen[0], seen[1], seen[2]))
            numbers.append(number)
            parts.append(current["usemtl"] or current["g"] or current["o"] or whole)
        elif key in current:
            current[key] = rest.strip()
    count_array = np.array(counts, dtype=np.int64)
    seen_then = np.repeat(np.array(starts, dtype=np.int64).reshape(-1, 3), count_array, axis=0)
    corner_lines = np.repeat(np.array(numbers, dtype=np.int64), count_array)
    corners = _resolve(path, _corner_numbers(path, words, corner_lines), seen_then, totals, corner_lines)
    names = tuple(dict.fromkeys(parts))
    rank = {name: index for index, name in enumerate(names)}
    return count_array, corners, np.array([rank[part] for part in parts], dtype=np.int64), names


def _corner_numbers(path: Path, words: list[str], lines: Int[np.ndarray, " C"]) -> Int[np.ndarray, "C 3"]:
    """The numbers of `v`, `v/vt`, `v//vn`, `v/vt/vn`; 0 where one is left out."""
    table = np.zeros((len(words), 3), dtype=np.int64)
    try:
        table[:, POSITION] = list(map(int, words))  # as long as no corner names more than its vertex
        return table
    except (ValueError, OverflowError):
        pass
    split = [word.split("/") for word in words]
    for row, fields in enumerate(split):
        try:
            for column, field in enumerate(fields):
                table[row, column] = int(field) if field else 0
        except (ValueError, IndexError, OverflowError):
            problem = f"{words[row][:40]!r} is not a face corner"
            raise FileError.of(path, f"line {lines[row]}", problem, "Export the file again") from None
    return table


def _resolve(
    path: Path,
    table: Int[np.ndarray, "C 3"],
    seen: Int[np.ndarray, "C 3"],
    totals: tuple[int, int, int],
    lines: Int[np.ndarray, " C"],
) -> Int[np.ndarray, "C 3"]:
    """Zero-based indices: positive ones count from 1, negative ones back from the line they stand in."""
    corners = np.where(table > 0, table - 1, np.where(table < 0, seen + table, -1))
    for column, total in enumerate(totals):
        required = (table[:, column] != 0) | (column == POSITION)
        wrong = np.flatnonzero(required & ((corners[:, column] < 0) | (corners[:, column] >= total)))
        if wrong.size:
            problem = f"names {COLUMN_NAMES[column]} {table[wrong[0], column]} of {total}"
            raise FileError.of(path, f"line {lines[wrong[0]]}", problem, "Export the file again")
    return corners


def _gathered(values: Float[np.ndarray, "N W"], corners: Int[np.ndarray, "F 3"]) -> Float[np.ndarray, "F 3 W"] | None:
    """Values per corner, or None unless every corner has one."""
    if not len(values) or (corners < 0).any():
        return None
    return values[corners]
