"""A pack: named arrays behind a JSON header, the one binary form of the page's socket and of the report.

    uint32   N, little-endian: length of the header in bytes
    N bytes  header: UTF-8 JSON, then spaces until 4 + N is a multiple of 8
    …        the arrays back to back, each padded with zeros to a multiple of 8

`header["arrays"]` lists every array: `name`, `dtype`, `shape`, `at` (bytes from the end of the header) and `bytes`;
where numbers were quantised also `scale` and `offset`: real = stored · scale + offset.
"""

import json
import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from dressform.errors import ArgumentError, DressformError
from dressform.formats.results.page.about import About
from dressform.formats.results.record import plain

ALIGNMENT = 8
LENGTH = struct.Struct("<I")
DTYPES = {"f4": "<f4", "i2": "<i2", "u2": "<u2", "u1": "|u1", "u4": "<u4", "i4": "<i4"}
"""The names of number types in a header, and how numpy calls them."""


@dataclass(frozen=True)
class Coarse:
    """Numbers stored as integers: real = stored · scale + offset.

    Attributes:
        stored: Integers of one of the types of `DTYPES`.
        scale: Step between neighbouring integers, in the unit of the real numbers.
        offset: The real number that 0 stands for.
    """

    stored: np.ndarray
    scale: float
    offset: float = 0.0

    @property
    def real(self) -> np.ndarray:
        """The real numbers, float32."""
        return (self.stored * self.scale + self.offset).astype(np.float32)


@dataclass(frozen=True)
class Pack:
    """The content of a pack.

    Attributes:
        header: The header without its list of arrays.
        arrays: By name, as stored; `Coarse` where the header gives a scale.
    """

    header: dict[str, Any]
    arrays: dict[str, np.ndarray | Coarse]


def coarsen(values: np.ndarray, *, dtype: str = "i2", scale: float | None = None) -> Coarse:
    """Numbers as integers of `dtype`, the whole span of the type used, off by at most half a step.

    With `scale` given, the step is that and the middle of the values the offset; values that do not fit are refused.

    Raises:
        ArgumentError: `dtype` is no integer type, a value is not finite, or the span does not fit `scale`.
    """
    if dtype not in DTYPES or dtype == "f4":
        names = ", ".join(name for name in DTYPES if name != "f4")
        raise ArgumentError.of("coarsen", "dtype", f"one of {names}", repr(dtype), "Choose an integer type")
    if not np.all(np.isfinite(values)):
        raise ArgumentError.of("coarsen", "values", "finite", "inf or nan", "Leave out what has no value")
    info = np.iinfo(np.dtype(DTYPES[dtype]))
    low, high = (float(values.min()), float(values.max())) if values.size else (0.0, 0.0)
    # One integer is kept free: the middle of the type is no integer, so the offset lies half a step off the values'.
    step = scale if scale is not None else (high - low) / (info.max - info.min - 1) or 1.0
    middle = (info.max + info.min) / 2
    offset = (low + high) / 2 - math.floor(middle) * step
    numbers = np.rint((values.astype(np.float64) - offset) / step)
    if values.size and (numbers.min() < info.min or numbers.max() > info.max):
        span = f"a span of {high - low:g}"
        rule = f"within {info.max - info.min} steps of {step:g}"
        raise ArgumentError.of("coarsen", "values", rule, span, "Give a larger scale or a wider type")
    return Coarse(numbers.astype(DTYPES[dtype]), step, offset)


def write_pack(header: Mapping[str, Any], arrays: Mapping[str, np.ndarray | Coarse]) -> bytes:
    """Pack arrays behind a header.

    Args:
        header: What JSON can say; must not hold `arrays` itself.
        arrays: By name; number types of `DTYPES`, in any byte order or memory layout.

    Raises:
        ArgumentError: the header has a key `arrays`, or an array another type than those of `DTYPES`.

    Proof: tests/report/page/test_pack.py::test_what_is_packed_comes_back
    """
    if "arrays" in header:
        raise ArgumentError.of("write_pack", "header", "without `arrays`", "one", "The list is made here")
    entries, blocks, at = [], [], 0
    for name, array in arrays.items():
        block, entry = _block(name, array)
        entries.append({"name": name, **entry, "at": at, "bytes": len(block)})
        padding = -len(block) % ALIGNMENT
        blocks += [block, bytes(padding)]
        at += len(block) + padding
    text = json.dumps({**header, "arrays": entries}, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    head = text.encode()
    head += b" " * (-(LENGTH.size + len(head)) % ALIGNMENT)
    return b"".join([LENGTH.pack(len(head)), head, *blocks])


def about_pack(about: About) -> bytes:
    """The About as a pack without arrays; nobody requested it, so its id is 0."""
    return write_pack({"kind": "about", "id": 0, **plain(about)}, {})


def read_pack(data: bytes) -> Pack:
    """Unpack what `write_pack` made.

    Raises:
        DressformError: the data are cut short, or the header is not JSON or does not describe them.
    """
    if len(data) < LENGTH.size:
        raise _damaged(f"{len(data)} bytes hold no header")
    (length,) = LENGTH.unpack_from(data)
    start = LENGTH.size + length
    if start % ALIGNMENT or start > len(data):
        raise _damaged(f"a header of {length} bytes does not fit {len(data)} bytes")
    try:
        header = json.loads(data[LENGTH.size : start].decode("utf-8"))
    except (UnicodeDecodeError, ValueError, RecursionError):
        raise _damaged("the header is not JSON") from None
    if not isinstance(header, dict) or not isinstance(header.get("arrays"), list):
        raise _damaged("the header lists no arrays")
    arrays = dict(_array(entry, memoryview(data)[start:]) for entry in header.pop("arrays"))
    return Pack(header, arrays)


def _block(name: str, array: np.ndarray | Coarse) -> tuple[bytes, dict[str, Any]]:
    """The bytes of one array, and its entry in the header."""
    stored = array.stored if isinstance(array, Coarse) else array
    kind = f"{stored.dtype.kind}{stored.dtype.itemsize}"
    if kind not in DTYPES:
        rule = f"of a type among {', '.join(DTYPES)}"
        raise ArgumentError.of("write_pack", name, rule, stored.dtype.name, "Convert it first")
    entry: dict[str, Any] = {"dtype": kind, "shape": list(stored.shape)}
    if isinstance(array, Coarse):
        entry |= {"scale": array.scale, "offset": array.offset}
    return np.ascontiguousarray(stored, dtype=DTYPES[kind]).tobytes(), entry


def _array(entry: Any, body: memoryview) -> tuple[str, np.ndarray | Coarse]:
    """One array that the header describes."""
    try:
        name, shape, at, size = entry["name"], entry["shape"], entry["at"], entry["bytes"]
        dtype = np.dtype(DTYPES[entry["dtype"]])
        coarse = (entry["scale"], entry["offset"]) if "scale" in entry else None
    except (KeyError, TypeError):
        raise _damaged("an array lacks name, dtype, shape, at or bytes") from None
    whole = isinstance(shape, list) and all(_is_count(number) for number in (at, size, *shape))
    if not (isinstance(name, str) and whole and math.prod(shape) * dtype.itemsize == size):
        raise _damaged(f"array {name!r} contradicts itself")
    if at % ALIGNMENT or at + size > len(body):
        raise _damaged(f"array {name!r} ends at byte {at + size} of {len(body)}")
    stored = np.frombuffer(body[at : at + size], dtype=dtype).reshape(shape)
    if coarse is None:
        return name, stored
    if not all(isinstance(number, int | float) and math.isfinite(number) for number in coarse):
        raise _damaged(f"array {name!r} has no finite scale and offset")
    return name, Coarse(stored, float(coarse[0]), float(coarse[1]))


def _is_count(number: Any) -> bool:
    return isinstance(number, int) and not isinstance(number, bool) and number >= 0


def _damaged(problem: str) -> DressformError:
    return DressformError(f"read_pack: `data` must be a pack, but {problem}. Make it again.")
