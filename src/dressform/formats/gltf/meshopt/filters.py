"""What is done to decoded rows: directions, rotations and floats in fewer bits [EXTMeshopt, appendix B]."""

import numpy as np
from jaxtyping import Float, UInt8

NONE, OCTAHEDRAL, QUATERNION, EXPONENTIAL = "NONE", "OCTAHEDRAL", "QUATERNION", "EXPONENTIAL"
FILTERS = (NONE, OCTAHEDRAL, QUATERNION, EXPONENTIAL)
MANTISSA_BITS = 23
LOWEST_EXPONENT, HIGHEST_EXPONENT = -100, 100


def unfiltered(rows: UInt8[np.ndarray, "N S"], name: str) -> UInt8[np.ndarray, "N S"]:
    """Rows of bytes as they are used.

    Raises:
        ValueError: the rows have a length that the filter does not know.

    Proof: tests/formats/gltf/meshopt/test_codec.py
    """
    stride = rows.shape[1]
    if (name == OCTAHEDRAL and stride not in (4, 8)) or (name == QUATERNION and stride != 8):
        raise ValueError(f"has rows of {stride} bytes, which the filter {name} does not know")
    if name == OCTAHEDRAL:
        return _directions(rows.view("<i1" if stride == 4 else "<i2"))
    if name == QUATERNION:
        return _rotations(rows.view("<i2"))
    return _floats(rows.view("<i4")) if name == EXPONENTIAL else rows


def on_grid(values: Float[np.ndarray, "N W"], exponent: int) -> UInt8[np.ndarray, "N S"]:
    """Rows for the filter EXPONENTIAL: each value at the nearest multiple of 2 to `exponent`.

    Raises:
        ValueError: a value needs more than 24 bits on this grid.
    """
    steps = np.rint(np.ldexp(values, -exponent)).astype(np.int64)
    if np.abs(steps).max(initial=0) >= 2**MANTISSA_BITS:
        raise ValueError(f"does not fit on a grid of 2^{exponent}")
    stored = (np.int64(exponent) << 24) | (steps & 0xFFFFFF)
    return np.ascontiguousarray((stored & 0xFFFFFFFF).astype("<u4")).view(np.uint8).reshape(len(values), -1)


def folded(vectors: Float[np.ndarray, "N 3"], last: Float[np.ndarray, " N"], *, bits: int) -> UInt8[np.ndarray, "N 8"]:
    """Rows of 16-bit numbers for the filter OCTAHEDRAL: unit vectors as points of a square, so many bits a side.

    Args:
        vectors: Unit vectors.
        last: A fourth number of each, from -1 to 1, kept as it is.
        bits: Of each coordinate of the square.
    """
    one = 2 ** (bits - 1) - 1
    flat = vectors / np.maximum(np.abs(vectors).sum(axis=1, keepdims=True), np.finfo(float).tiny)
    turned = (1.0 - np.abs(flat[:, 1::-1])) * np.where(flat[:, :2] >= 0, 1.0, -1.0)
    square = np.where(flat[:, 2:] < 0, turned, flat[:, :2])
    rows = np.zeros((len(vectors), 4), dtype="<i2")
    rows[:, :2] = np.rint(square * one)
    rows[:, 2] = one
    rows[:, 3] = np.rint(last * np.iinfo(np.int16).max)
    return rows.view(np.uint8)


def _directions(packed: np.ndarray) -> UInt8[np.ndarray, "N S"]:
    """Unit vectors from octahedral coordinates; the last number passes through."""
    top = float(np.iinfo(packed.dtype).max)
    one = np.maximum(packed[:, 2].astype(np.float64), 1.0)
    x, y = packed[:, 0] / one, packed[:, 1] / one
    z = 1.0 - np.abs(x) - np.abs(y)
    below = np.minimum(z, 0.0)
    x, y = x - np.copysign(below, x), y - np.copysign(below, y)
    vectors = np.stack([x, y, z], axis=1)
    vectors /= np.linalg.norm(vectors, axis=1, keepdims=True)
    result = packed.copy()
    result[:, :3] = np.rint(vectors * top)
    return result.view(np.uint8)


def _rotations(packed: np.ndarray) -> UInt8[np.ndarray, "N 8"]:
    """Unit quaternions from their three smaller parts."""
    whole = packed.astype(np.int64)
    one = (whole[:, 3] | 3).astype(np.float64)
    parts = whole[:, :3] / one[:, None] / np.sqrt(2.0)
    largest = np.sqrt(np.maximum(0.0, 1.0 - (parts**2).sum(axis=1)))
    which = whole[:, 3] & 3
    result = np.zeros(packed.shape, dtype="<i2")
    for offset, values in enumerate((largest, *parts.T)):
        result[np.arange(len(result)), (which + offset) % 4] = np.rint(values * np.iinfo(np.int16).max)
    return result.view(np.uint8)


def _floats(packed: np.ndarray) -> UInt8[np.ndarray, "N S"]:
    """Floats from a signed exponent of 8 bits over a signed mantissa of 24."""
    mantissa = (packed << 8) >> 8
    exponent = np.clip(packed >> 24, LOWEST_EXPONENT, HIGHEST_EXPONENT)
    return np.ldexp(mantissa.astype(np.float64), exponent).astype("<f4").view(np.uint8)
