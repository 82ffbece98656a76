"""glTF accessors as arrays: every component type, normalised integers, strides, sparse replacement [glTF2 3.6.2]."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.formats.gltf.components import BYTE as BYTE
from dressform.formats.gltf.components import COMPONENTS as COMPONENTS
from dressform.formats.gltf.components import FLOAT as FLOAT
from dressform.formats.gltf.components import SHORT as SHORT
from dressform.formats.gltf.components import UNSIGNED_BYTE as UNSIGNED_BYTE
from dressform.formats.gltf.components import UNSIGNED_INT as UNSIGNED_INT
from dressform.formats.gltf.components import UNSIGNED_SHORT as UNSIGNED_SHORT
from dressform.formats.gltf.components import WIDTHS as WIDTHS
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.schema import Accessor
from dressform.formats.guards.limits import refuse_excess

INDEX_TYPES = (UNSIGNED_BYTE, UNSIGNED_SHORT, UNSIGNED_INT)
BYTES_PER_NUMBER = 24  # as stored, as 64-bit, and once more while sparse parts or scales are worked in


def read_floats(
    document: Document, index: int, place: str, types: Sequence[str], *, in_buffer: bool = False
) -> Float[np.ndarray, "N W"]:
    """Numbers of an accessor, (N, width); normalised integers are scaled to [0, 1] or [-1, 1].

    Args:
        document: The file.
        index: The accessor.
        place: Its place, for messages.
        types: Which types it may have.
        in_buffer: Whether the numbers must stand in a buffer. An accessor without one is all zeros, but for its sparse
            part: right for a morph target, and else a few bytes that ask for any amount of memory.

    Raises:
        FileError: no such accessor, another type than `types`, bytes missing, or a value that is not finite.
    """
    accessor = _find(document, index, place, types)
    if in_buffer:
        _refuse_unbuffered(document, accessor, place)
    raw = _raw(document, accessor, place)
    if raw.dtype.kind == "f":
        values = raw.astype(np.float64)
        broken = np.flatnonzero(~np.isfinite(values).all(axis=1))
        if broken.size:
            raise document.error(place, f"holds {values[broken[0]].tolist()} at element {broken[0]}")
        return values
    values = raw.astype(np.float64)
    if not accessor.normalized:
        return values
    top = float(np.iinfo(raw.dtype).max)
    return np.maximum(values / top, -1.0)


def read_integers(document: Document, index: int, place: str, types: Sequence[str]) -> Int[np.ndarray, "N W"]:
    """Unsigned integers of an accessor (indices, joints), (N, width).

    Raises:
        FileError: as `read_floats`; or the components are not unsigned integers.
    """
    accessor = _find(document, index, place, types)
    if accessor.component_type not in INDEX_TYPES:
        raise document.error(place, f"has component type {accessor.component_type}, not an unsigned integer")
    _refuse_unbuffered(document, accessor, place)
    return _raw(document, accessor, place).astype(np.int64)


def read_raw(document: Document, index: int) -> np.ndarray:
    """Numbers of an accessor as they are stored, (N, width), sparse parts put in.

    Raises:
        FileError: as `read_floats`.
    """
    place = f"accessors[{index}]"
    return _raw(document, _find(document, index, place, tuple(WIDTHS)), place)


def accessor_count(document: Document, index: int, place: str) -> int:
    """How many elements an accessor declares; nothing is decoded.

    Raises:
        FileError: no such accessor.
    """
    return _find(document, index, place, tuple(WIDTHS)).count


def _find(document: Document, index: int, place: str, types: Sequence[str]) -> Accessor:
    accessors = document.gltf.accessors
    if index >= len(accessors):
        raise document.error(place, f"names accessor {index} of {len(accessors)}")
    accessor = accessors[index]
    if accessor.type not in types:
        raise document.error(place, f"is of type {accessor.type}, not {' or '.join(types)}")
    if accessor.component_type not in COMPONENTS:
        known = ", ".join(map(str, COMPONENTS))
        raise document.error(place, f"has component type {accessor.component_type}, not one of {known}")
    return accessor


def _refuse_unbuffered(document: Document, accessor: Accessor, place: str) -> None:
    if accessor.buffer_view is None:
        raise document.error(place, f"declares {accessor.count:,} elements without a buffer view that holds them")


def _raw(document: Document, accessor: Accessor, place: str) -> np.ndarray:
    dtype, width = COMPONENTS[accessor.component_type], WIDTHS[accessor.type]
    refuse_excess(document.path, place, accessor.count * width * BYTES_PER_NUMBER)
    if accessor.buffer_view is None:
        values = np.zeros((accessor.count, width), dtype)
    else:
        values = _view(document, accessor.buffer_view, accessor.byte_offset, accessor.count, width, dtype, place)
    if accessor.sparse is None:
        return values
    sparse = accessor.sparse
    if sparse.count > accessor.count or sparse.indices.component_type not in INDEX_TYPES:
        raise document.error(place, f"has a damaged sparse part of {sparse.count} in {accessor.count} elements")
    index_type = COMPONENTS[sparse.indices.component_type]
    inside = f"{place} (sparse)"
    rows = _view(document, sparse.indices.buffer_view, sparse.indices.byte_offset, sparse.count, 1, index_type, inside)
    if rows.max() >= accessor.count:
        raise document.error(inside, f"replaces element {rows.max()} of {accessor.count}")
    replaced = values.copy()
    replaced[rows[:, 0].astype(np.int64)] = _view(
        document, sparse.values.buffer_view, sparse.values.byte_offset, sparse.count, width, dtype, inside
    )
    return replaced


def _view(
    document: Document, view: int, offset: int, count: int, width: int, dtype: np.dtype[Any], place: str
) -> np.ndarray:
    views = document.gltf.buffer_views
    if view >= len(views):
        raise document.error(place, f"names buffer view {view} of {len(views)}")
    found = views[view]
    element = width * dtype.itemsize
    stride = found.byte_stride or element
    needed = offset + (count - 1) * stride + element
    if stride < element or needed > found.byte_length:
        problem = f"needs {needed:,} bytes (stride {stride}) of buffer view {view}, which has {found.byte_length:,}"
        raise document.error(place, problem)
    data = document.buffers[found.buffer]
    start = found.byte_offset + offset
    return np.ndarray((count, width), dtype, data, start, (stride, dtype.itemsize))
