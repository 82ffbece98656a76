"""The numbers that glTF stores: component types, and how many stand in an element [glTF2 3.6.2.2]."""

from typing import Any

import numpy as np

BYTE, UNSIGNED_BYTE, SHORT, UNSIGNED_SHORT, UNSIGNED_INT, FLOAT = 5120, 5121, 5122, 5123, 5125, 5126
COMPONENTS: dict[int, np.dtype[Any]] = {
    BYTE: np.dtype("<i1"),
    UNSIGNED_BYTE: np.dtype("<u1"),
    SHORT: np.dtype("<i2"),
    UNSIGNED_SHORT: np.dtype("<u2"),
    UNSIGNED_INT: np.dtype("<u4"),
    FLOAT: np.dtype("<f4"),
}
WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT4": 16}
