"""NumPy's `.npy` files, read with care: the header is believed only where the bytes behind it agree.

NumPy's own reader opens a zip archive where the file starts as one, allocates what the header declares, and warns where
it guesses; so the header is read here.
"""

import ast
import math
from pathlib import Path
from typing import Any

import numpy as np

from dressform.errors import FileError
from dressform.formats.guards.limits import refuse_excess

BYTES_PER_NUMBER = 24
MAGIC = b"\x93NUMPY"
LENGTH_BYTES = {b"\x01\x00": 2, b"\x02\x00": 4, b"\x03\x00": 4}
MAX_HEADER_BYTES = 10_000
MALFORMED = (ValueError, KeyError, TypeError, SyntaxError, RecursionError, MemoryError)


def parse_npy(data: bytes, path: Path, place: str, name: str, *, advice: str) -> np.ndarray:
    """Numbers of a `.npy` file, in its own type.

    Args:
        data: The content.
        path: The file that names it, for messages.
        place: Where in that file it is named.
        name: Its own name.
        advice: What to do about a damaged one.

    Raises:
        FileError: it is no `.npy` file of numbers, or holds more or fewer bytes than it declares.

    Proof: tests/formats/test_npy.py
    """
    try:
        shape, is_fortran, dtype, start = _header(data)
    except MALFORMED as problem:
        reason = str(problem).partition("\n")[0][:100]
        raise FileError.of(path, place, f"{name} is no .npy file of numbers ({reason})", advice) from None
    if dtype.hasobject:
        raise FileError.of(path, place, f"{name} is no .npy file of numbers (it holds objects)", advice)
    if dtype.kind not in "fiu" or dtype.itemsize > np.dtype(np.float64).itemsize:
        raise FileError.of(path, place, f"{name} holds no list of numbers, but {dtype}", advice)
    count, there = math.prod(shape), len(data) - start
    if any(size < 0 for size in shape) or count * dtype.itemsize != there:
        problem_text = f"{name} declares {count:,} numbers of {dtype.itemsize} bytes, but {there:,} bytes follow"
        raise FileError.of(path, place, problem_text, advice)
    refuse_excess(path, place, count * BYTES_PER_NUMBER)
    flat = np.frombuffer(data, dtype, count, start)
    return flat.reshape(shape, order="F" if is_fortran else "C")


def _header(data: bytes) -> tuple[tuple[int, ...], bool, np.dtype[Any], int]:
    """Shape, whether the first index runs fastest, type, and where the numbers start [NumPyFormat]."""
    version = data[len(MAGIC) : len(MAGIC) + 2]
    if not data.startswith(MAGIC) or version not in LENGTH_BYTES:
        raise ValueError("it does not start as one")
    text_start = len(MAGIC) + 2 + LENGTH_BYTES[version]
    length = int.from_bytes(data[len(MAGIC) + 2 : text_start], "little")
    text = data[text_start : text_start + length]
    if length > MAX_HEADER_BYTES or len(text) < length:
        raise ValueError("its header is cut off")
    found = ast.literal_eval(text.decode("utf-8"))
    shape, is_fortran, kind = found["shape"], found["fortran_order"], found["descr"]
    is_whole = isinstance(shape, tuple) and all(type(size) is int for size in shape)
    if not (is_whole and isinstance(is_fortran, bool) and isinstance(kind, str)):
        raise ValueError("its header is damaged")
    return shape, is_fortran, np.dtype(kind), text_start + length
