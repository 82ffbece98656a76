"""Mode 0 of EXT_meshopt_compression: rows of bytes as differences from row to row [EXTMeshopt, appendix A].

The rows are cut into blocks, each block into its byte columns, each column into groups of 16 differences. A group is
stored in 0, 2, 4 or 8 bits a difference; a difference that does not fit into 2 or 4 bits follows as a whole byte.
"""

import numpy as np
from jaxtyping import Bool, Int, UInt8

HEADER = 0xA0
GROUP = 16
BLOCK_BYTES, MOST_ROWS = 8192, 256
TAIL_BYTES = 32
BITS = (0, 2, 4, 8)
SENTINELS = (0, 3, 15, 0)
PACKED_BYTES = np.array([0, 4, 8, 16])
SHIFTS = {1: np.array([6, 4, 2, 0], dtype=np.uint8), 2: np.array([4, 0], dtype=np.uint8)}
_BYTES = np.arange(256)
_EXTRA = {
    1: sum(((_BYTES >> shift) & 3) == 3 for shift in (0, 2, 4, 6)).tolist(),
    2: sum(((_BYTES >> shift) & 15) == 15 for shift in (0, 4)).tolist(),
}
"""How many whole bytes follow for the sentinels in one packed byte, by mode."""


def rows_per_block(stride: int) -> int:
    """Rows of one block for rows of so many bytes."""
    return min((BLOCK_BYTES // stride) & ~(GROUP - 1), MOST_ROWS)


def decode_attributes(data: bytes, count: int, stride: int) -> UInt8[np.ndarray, "N S"]:
    """Rows of bytes, (count, stride).

    Raises:
        ValueError: the stream is not of this mode, or is too short or too long; says what was found.

    Proof: tests/formats/gltf/meshopt/test_codec.py
    """
    tail = max(stride, TAIL_BYTES)
    if len(data) < 1 + tail or data[0] != HEADER:
        raise ValueError("does not begin as a stream of attributes" if data else "is empty")
    end = len(data) - tail
    starts, modes = _groups(data, end, count, stride)
    found = _unpacked(np.frombuffer(data, np.uint8), starts, modes)
    signed = (found >> 1) ^ (0 - (found & 1)).astype(np.uint8)
    rows = _in_rows(signed, count, stride)
    first = np.frombuffer(data, np.uint8)[len(data) - stride :]
    return np.ascontiguousarray(np.cumsum(rows, axis=0, dtype=np.uint8) + first, dtype=np.uint8)


def encode_attributes(rows: UInt8[np.ndarray, "N S"]) -> bytes:
    """The shortest stream of rows of bytes; `decode_attributes` gives the same rows.

    Args:
        rows: At least one row; its length is a multiple of 4 and at most 256.
    """
    count, stride = rows.shape
    steps = np.diff(rows, axis=0, prepend=rows[:1]).astype(np.uint8)
    zigzag = (steps << 1) ^ (0 - (steps >> 7)).astype(np.uint8)
    parts = [bytes([HEADER])]
    size = rows_per_block(stride)
    for start in range(0, count, size):
        block = zigzag[start : start + size]
        padded = np.pad(block, ((0, -len(block) % GROUP), (0, 0)))
        parts.append(_encoded_block(padded.reshape(-1, GROUP, stride).transpose(2, 0, 1)))
    parts += [bytes(max(stride, TAIL_BYTES) - stride), rows[0].tobytes()]
    return b"".join(parts)


def _groups(data: bytes, end: int, count: int, stride: int) -> tuple[Int[np.ndarray, " G"], Int[np.ndarray, " G"]]:
    """Where the bytes of each group begin, and its mode, in the order of the stream."""
    starts: list[int] = []
    modes: list[int] = []
    at, size = 1, rows_per_block(stride)
    for start in range(0, count, size):
        groups = -(-min(size, count - start) // GROUP)
        for _ in range(stride):
            header, at = at, at + -(-groups // 4)
            if at > end:
                raise ValueError("ends too early")
            for group in range(groups):
                mode = data[header + group // 4] >> (group % 4 * 2) & 3
                starts.append(at)
                modes.append(mode)
                if mode == 3:
                    at += GROUP
                elif mode:
                    packed = 4 * mode
                    if at + packed > end:
                        raise ValueError("ends too early")
                    extra = _EXTRA[mode]
                    at += packed + sum([extra[byte] for byte in data[at : at + packed]])
            if at > end:
                raise ValueError("ends too early")
    if at != end:
        raise ValueError(f"has {end - at} bytes too many")
    return np.array(starts, dtype=np.int64), np.array(modes, dtype=np.int64)


def _unpacked(
    stream: UInt8[np.ndarray, " B"], starts: Int[np.ndarray, " G"], modes: Int[np.ndarray, " G"]
) -> UInt8[np.ndarray, "G 16"]:
    """The differences of each group as they are stored."""
    found = np.zeros((len(starts), GROUP), dtype=np.uint8)
    whole = modes == 3
    found[whole] = stream[starts[whole, None] + np.arange(GROUP)]
    for mode, shifts in SHIFTS.items():
        own = np.flatnonzero(modes == mode)
        if not own.size:
            continue
        packed = stream[starts[own, None] + np.arange(PACKED_BYTES[mode])]
        values = (packed[:, :, None] >> shifts & SENTINELS[mode]).reshape(-1, GROUP)
        outside = values == SENTINELS[mode]
        rank = np.cumsum(outside, axis=1) - 1
        places = starts[own, None] + PACKED_BYTES[mode] + rank
        values[outside] = stream[places[outside]]
        found[own] = values
    return found


def _in_rows(groups: UInt8[np.ndarray, "G 16"], count: int, stride: int) -> UInt8[np.ndarray, "N S"]:
    """Groups in the order of the stream (block, byte column, group) as rows of bytes."""
    size = rows_per_block(stride)
    whole = count // size
    split = whole * stride * (size // GROUP)
    full = groups[:split].reshape(whole, stride, size).transpose(0, 2, 1).reshape(-1, stride)
    rest = groups[split:].reshape(stride, -1).T[: count - whole * size] if count > whole * size else full[:0]
    return np.concatenate([full, rest])


def _encoded_block(columns: UInt8[np.ndarray, "S G 16"]) -> bytes:
    """One block: for each byte column the modes of its groups, then their differences."""
    stride, groups = columns.shape[:2]
    flat = columns.reshape(-1, GROUP)
    sizes = np.stack(
        [
            np.where(flat.any(axis=1), 99, 0),
            PACKED_BYTES[1] + (flat >= SENTINELS[1]).sum(axis=1),
            PACKED_BYTES[2] + (flat >= SENTINELS[2]).sum(axis=1),
            np.full(len(flat), GROUP),
        ]
    )
    modes = sizes.argmin(axis=0)
    rows, kept = _packed_rows(flat, modes)
    headers = np.pad(modes.reshape(stride, groups), ((0, 0), (0, -groups % 4))).reshape(stride, -1, 4)
    packed = (headers << np.array([0, 2, 4, 6])).sum(axis=2).astype(np.uint8)
    body, mask = rows.reshape(stride, -1), kept.reshape(stride, -1)
    every = np.concatenate([packed, body], axis=1)
    return every[np.concatenate([np.ones(packed.shape, dtype=bool), mask], axis=1)].tobytes()


def _packed_rows(
    flat: UInt8[np.ndarray, "G 16"], modes: Int[np.ndarray, " G"]
) -> tuple[UInt8[np.ndarray, "G 24"], Bool[np.ndarray, "G 24"]]:
    """The bytes of each group, at most 8 of packed differences and 16 whole ones, and which of them are stored."""
    rows = np.zeros((len(flat), 8 + GROUP), dtype=np.uint8)
    kept = np.zeros(rows.shape, dtype=bool)
    rows[:, 8:] = flat
    kept[modes == 3, 8:] = True
    for mode, shifts in SHIFTS.items():
        own = modes == mode
        values = flat[own]
        short = np.minimum(values, SENTINELS[mode]).reshape(-1, GROUP // len(shifts), len(shifts))
        size = int(PACKED_BYTES[mode])
        rows[own, :size] = np.bitwise_or.reduce(short << shifts, axis=2)
        kept[own, :size] = True
        kept[own, 8:] = values >= SENTINELS[mode]
    return rows, kept
